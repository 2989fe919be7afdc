"""First schedules for the search."""

from collections.abc import Iterable

import numpy as np

from dispatch.planner.search.anneal import whole_cost
from dispatch.planner.search.board import Board
from dispatch.planner.search.first import append_all
from dispatch.planner.search.state import Schedule, empty_schedule, new_trial


def appended(board: Board, order: Iterable[int]) -> Schedule:
    """Every job in the order given, at the end of the route where it costs least."""
    schedule, trial = empty_schedule(board), new_trial(board)
    append_all(board, schedule, trial, np.array(list(order), dtype=np.int64))
    whole_cost(board, schedule, trial, True)
    return schedule
