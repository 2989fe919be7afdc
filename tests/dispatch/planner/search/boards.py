"""Boards to work out by hand: ten minutes between any two places, work of twenty minutes."""

from typing import Any

import numpy as np

from dispatch.planner.search import board as col
from dispatch.planner.search.anneal import whole_cost
from dispatch.planner.search.board import Board, Floats, blank_board, list_able
from dispatch.planner.search.state import Schedule, empty_schedule, new_trial

DRIVE, WORK = 10.0, 20.0
HOME = 0


def board(attendances: int, vets: int, *, pairs: bool = False, **more: Any) -> Board:
    """One job an attendance, or a pair (lead, second) to each two; place 0 is home, job j is at place j + 1.

    Everybody may do anything, minutes at the wheel cost one each, and nobody may be left unserved.
    """
    jobs = attendances // 2 if pairs else attendances
    travel = np.full((jobs + 2, jobs + 2), DRIVE)
    np.fill_diagonal(travel, 0.0)
    made = blank_board(travel, attendances, vets, jobs, **more)
    made.prices[col.DRIVING] = 1.0
    made.allowed[:] = 1
    for index in range(attendances):
        job = index // 2 if pairs else index
        made.whole[index, [col.JOB, col.PLACE]] = job, job + 1
        made.real[index, col.DURATION] = WORK
        if pairs:
            made.whole[index, col.MATE] = index ^ 1
            made.whole[index, col.LEADS] = index % 2 == 0
        if not pairs or index % 2 == 0:
            made.first[job] = index
    list_able(made)
    return made


def routed(on: Board, *routes: list[int]) -> Schedule:
    """These attendances for each vet, not timed."""
    schedule = empty_schedule(on)
    for vet, route in enumerate(routes):
        schedule.route[vet, : len(route)] = route
        schedule.length[vet] = len(route)
        schedule.where[route] = vet
    return schedule


def timed(on: Board, *routes: list[int]) -> tuple[float, Floats]:
    """What these routes cost, and when each attendance starts."""
    schedule = routed(on, *routes)
    cost = whole_cost(on, schedule, new_trial(on), True)
    return cost, schedule.start


def allowed(on: Board, *routes: list[int]) -> bool:
    return bool(timed(on, *routes)[0] < col.NEVER)
