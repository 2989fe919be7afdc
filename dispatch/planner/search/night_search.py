"""The local search over a night: from a draft to a better one, never to a worse."""

from dataclasses import dataclass
from typing import cast

from dispatch.planner.draft import Draft
from dispatch.planner.problem import Problem
from dispatch.planner.search.improve import Heat, improved
from dispatch.planner.search.moves import (
    BOTH,
    LEAVE,
    MOVE,
    NEAR,
    SEGMENT,
    SWAP,
    SWAP_NEAR,
    TAILS,
    TAILS_NEAR,
)
from dispatch.planner.search.night_board import NightBoard, NotOnBoard, draft_of, night_board, schedule_of

SMALL_NIGHT, LARGE_NIGHT = 14, 60
ANYWHERE = (MOVE, MOVE, MOVE, BOTH, SWAP, TAILS, SEGMENT, LEAVE)
ALL_AROUND = (MOVE, NEAR, NEAR, NEAR, SWAP, SWAP_NEAR, TAILS_NEAR, TAILS_NEAR, SEGMENT, BOTH, LEAVE)
SMALL_COOLINGS, COOLINGS = 4, 3
HOTTEST_SHARE = 0.2
"""Of the cost: a night without much at stake needs no more heat than that."""
OUTCOMES_AT_ONCE = 3
"""How many worsened outcomes a search over more than a small night must be able to climb over at once."""


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
        night = _on_board(problem)
    except NotOnBoard:
        return start
    best = improved(
        night.board,
        schedule_of(night, start),
        heat_for(problem, start),
        allowed.seconds,
        allowed.workers,
        allowed.seed,
        allowed.rounds,
    )
    found = draft_of(night, best)
    return start if found is None else min(start, found, key=lambda each: each.cost)


def heat_for(problem: Problem, start: Draft) -> Heat:
    """From as hot as the dearest worsening of an outcome, or several of them, down to a minute's driving.

    Small nights are cooled several times, large ones once and more near by than anywhere.
    """
    weights, jobs = problem.weights, len(problem.jobs)
    at_once = 1 if jobs <= SMALL_NIGHT else OUTCOMES_AT_ONCE
    dearest = max(1, *(figures.worse_step for figures in weights.lateness.values()))
    hot = max(1.0, at_once * min(dearest, HOTTEST_SHARE * start.cost))
    cold = min(hot, max(1, weights.driving_per_min))
    if jobs <= SMALL_NIGHT:
        return Heat(hot, cold, SMALL_COOLINGS, ANYWHERE)
    return Heat(hot, cold, 1 if jobs > LARGE_NIGHT else COOLINGS, ALL_AROUND)


def _on_board(problem: Problem) -> NightBoard:
    if ("on board",) not in problem.memo:
        problem.memo["on board",] = night_board(problem)
    return cast("NightBoard", problem.memo["on board",])
