"""The local search over a night: from a draft to a better one, never to a worse."""

from dataclasses import dataclass

from dispatch.planner.draft import Draft
from dispatch.planner.problem import Problem
from dispatch.planner.search.improve import Heat, improved
from dispatch.planner.search.moves import BOTH, LEAVE, MOVE, SEGMENT, SWAP, TAILS
from dispatch.planner.search.night_board import NotOnBoard, draft_of, night_board, schedule_of

KINDS = (MOVE, MOVE, MOVE, BOTH, SWAP, TAILS, SEGMENT, LEAVE)
HOT_SHARE, COLD = 0.2, 20.0
COOLINGS = 4


@dataclass(frozen=True)
class Allowed:
    """How long to search: seconds of wall clock, or the same number of moves on any machine."""

    seconds: float
    rounds: int | None = None
    workers: int = 1
    seed: int = 1


def searched(problem: Problem, start: Draft, allowed: Allowed) -> Draft:
    """The best draft found within what is allowed; the start itself where nothing better was found."""
    try:
        night = night_board(problem)
    except NotOnBoard:
        return start
    heat = Heat(HOT_SHARE * max(start.cost, 1), COLD, COOLINGS, KINDS)
    best = improved(
        night.board,
        schedule_of(night, start),
        heat,
        allowed.seconds,
        allowed.workers,
        allowed.seed,
        allowed.rounds,
    )
    found = draft_of(night, best)
    return start if found is None else min(start, found, key=lambda each: each.cost)
