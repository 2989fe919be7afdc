"""Schedules that the search comes by, good or bad, and what may be said of them."""

from collections.abc import Sequence

import numpy as np

from dispatch.planner.check import broken_rules
from dispatch.planner.draft import Draft
from dispatch.planner.plan import Plan, Status
from dispatch.planner.problem import Problem
from dispatch.planner.rules import can_lead
from dispatch.planner.search.anneal import whole_cost
from dispatch.planner.search.board import Board
from dispatch.planner.search.improve import Runner
from dispatch.planner.search.moves import BOTH, LEAVE, MOVE, NEAR, SEGMENT, SWAP, SWAP_NEAR, TAILS
from dispatch.planner.search.state import Schedule, copy_schedule, new_trial

EVERY_KIND = (MOVE, SWAP, TAILS, SEGMENT, BOTH, LEAVE, NEAR, SWAP_NEAR)


def wandered(
    board: Board,
    start: Schedule,
    moves: int,
    hot: float,
    seed: int = 1,
    kinds: Sequence[int] = EVERY_KIND,
) -> Runner:
    """A search after so many moves at one temperature: hot it takes nearly all that is allowed."""
    runner = Runner(board, start, seed)
    runner.cool(np.array(kinds, dtype=np.int64), moves, hot, hot)
    return runner


def cost_afresh(board: Board, schedule: Schedule) -> float:
    """What a schedule costs when every minute is worked out anew."""
    return float(whole_cost(board, copy_schedule(schedule), new_trial(board), True))


def broken_by(problem: Problem, draft: Draft) -> tuple[str, ...]:
    """What the checker, which knows no solver, finds wrong with a draft made a plan."""
    bare = Plan(
        status=Status.FEASIBLE, sentence="", routes=draft.routes, unassigned=draft.left,
        ranking=(), verdicts=(), costs=dict(draft.points), cost=draft.cost, bound=0, solve_seconds=0,
        greedy_cost=0,
    )  # fmt: skip
    return broken_rules(problem, bare)


def either_may_begin(problem: Problem, draft: Draft) -> bool:
    """Whether two go to a job where the second may follow and each of them may be the first.

    The planner has whoever is there sooner begin; on the board it is the one whose part leads.
    """
    for job in problem.jobs:
        going = [vet for vet, jobs in draft.orders.items() if job.id in jobs]
        leaders = [vet for vet in going if can_lead(problem, problem.vet_by_id[vet], job)]
        if job.second_within_min and len(leaders) == 2:
            return True
    return False
