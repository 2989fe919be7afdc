"""What the search adds up move by move is what it would reckon from nothing; undoing a move undoes it all."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from dispatch.planner.greedy import greedy
from dispatch.planner.home_care.instance import Instance
from dispatch.planner.home_care.solving import board_of
from dispatch.planner.invented_nights import night
from dispatch.planner.problem import Problem
from dispatch.planner.search import moves
from dispatch.planner.search.board import MATE, Board, Ints
from dispatch.planner.search.night_board import night_board, schedule_of
from dispatch.planner.search.start import appended
from dispatch.planner.search.state import Saved, Schedule, copy_schedule, new_saved
from tests.dispatch.planner.home_care.days import instances
from tests.dispatch.planner.search.walks import cost_afresh, wandered
from tests.dispatch.planner.strategies import problems

often = settings(suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
temperatures = st.sampled_from([10.0, 3_000.0, 1e9])


@often
@given(problems(most_jobs=7, follows=(0, 10, 30)), st.integers(0, 500), temperatures)
def test_a_nights_running_cost_is_its_cost_afresh(question: Problem, count: int, hot: float) -> None:
    """Without shelves: who takes the last piece from one may change when all is timed anew."""
    bare = replace(question, stores=())
    board = night_board(bare)
    search = wandered(board.board, schedule_of(board, greedy(bare)), count, hot)
    assert cost_afresh(board.board, search.x) == pytest.approx(search.costs[0], abs=1e-6)
    assert cost_afresh(board.board, search.best) == pytest.approx(search.costs[1], abs=1e-6)


@given(instances(), st.integers(0, 500), temperatures)
def test_a_days_running_cost_is_its_cost_afresh(day: Instance, count: int, hot: float) -> None:
    board = board_of(day)
    search = wandered(board, appended(board, range(len(day.patients))), count, hot)
    assert cost_afresh(board, search.x) == pytest.approx(search.costs[0], abs=1e-6)


def test_nothing_is_lost_in_a_million_moves() -> None:
    board = night_board(night(4, 12, 4, 2))
    search = wandered(board.board, schedule_of(board, greedy(board.problem)), 1_000_000, 5_000.0)
    assert cost_afresh(board.board, search.x) == pytest.approx(search.costs[0], abs=1e-3)


def made(kind: int, board: Board, x: Schedule, saved: Saved, seed: Ints, o: int, other: int) -> bool:
    """Try one move of this kind."""
    way: dict[int, Callable[[], bool]] = {
        moves.MOVE: lambda: moves.move_one(board, x, saved, seed, o),
        moves.NEAR: lambda: moves.move_near(board, x, saved, seed, o),
        moves.BOTH: lambda: board.whole[o, MATE] >= 0 and moves.move_both(board, x, saved, seed, o),
        moves.SWAP: lambda: moves.swap(board, x, saved, seed, o, other),
        moves.SEGMENT: lambda: moves.segment(board, x, saved, seed, o, moves.some_vet(board, seed, o)),
        moves.LEAVE: lambda: moves.leave(board, x, saved, o),
        moves.TAILS: lambda: moves.tails(
            board, x, saved, seed, o % len(board.vet_whole), other % len(board.vet_whole)
        ),
    }
    return bool(way[kind]())


KINDS = (moves.MOVE, moves.NEAR, moves.BOTH, moves.SWAP, moves.SEGMENT, moves.LEAVE, moves.TAILS)


def routes(x: Schedule) -> list[list[int]]:
    return [list(route[:length]) for route, length in zip(x.route, x.length, strict=True)]


def consistent(x: Schedule) -> bool:
    """Everyone is where the routes say, once."""
    there = {int(o): vet for vet, route in enumerate(routes(x)) for o in route}
    return [there.get(o, -1) for o in range(len(x.where))] == list(x.where) and len(there) == sum(x.length)


@pytest.mark.parametrize("kind", KINDS)
def test_a_move_keeps_every_attendance_in_one_place_and_can_be_undone(kind: int) -> None:
    told = night(2, 16, 4, 2)
    for_two = tuple(replace(job, vets_needed=2) for job in told.jobs[:4])
    board = night_board(replace(told, jobs=for_two + told.jobs[4:]))
    x = wandered(board.board, schedule_of(board, greedy(board.problem)), 2_000, 1e9).x
    saved, seed, draws = new_saved(board.board), np.array([7], dtype=np.int64), np.random.default_rng(3)
    changed = 0
    for o, other in draws.integers(0, len(board.parts), (300, 2)):
        before = copy_schedule(x)
        saved.counts[:] = 0
        if made(kind, board.board, x, saved, seed, int(o), int(other)):
            assert consistent(x)
            changed += routes(x) != routes(before)
        moves.undo(x, saved)
        assert routes(x) == routes(before)
        for name in ("where", "length", "sums", "vets", "start", "cost", "via", "brings", "drawn", "taken"):
            assert np.array_equal(getattr(x, name), getattr(before, name)), name
    assert changed > 10
