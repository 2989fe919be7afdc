"""The local search over a night: from a draft to a better one, never to a worse."""

from dispatch.planner.draft import Draft
from dispatch.planner.problem import Problem
from dispatch.planner.search.night_board import NotOnBoard, draft_of, night_board, schedule_of


def searched(problem: Problem, start: Draft, seconds: float, workers: int, seed: int) -> Draft:
    """The best draft found in the time, the start itself where nothing better was found."""
    from dispatch.planner.search.improve import Heat, improved
    from dispatch.planner.search.moves import BOTH, LEAVE, MOVE, SEGMENT, SWAP, TAILS

    try:
        night = night_board(problem)
    except NotOnBoard:
        return start
    heat = Heat(hot=0.05 * start.cost, cold=20.0, kinds=(MOVE, MOVE, MOVE, BOTH, SWAP, TAILS, SEGMENT, LEAVE))
    best = improved(night.board, schedule_of(night, start), heat, seconds, workers, seed)
    found = draft_of(night, best)
    return start if found is None else min(start, found, key=lambda each: each.cost)
