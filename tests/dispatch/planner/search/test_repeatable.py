"""The same seed and the same number of moves give the same schedule, here and in any other process."""

import json
import os
import subprocess
import sys
from itertools import count

import numpy as np
import pytest

from dispatch.planner.greedy import greedy
from dispatch.planner.invented_nights import night
from dispatch.planner.search import improve
from dispatch.planner.search.improve import Effort, Heat, Runner, improved
from dispatch.planner.search.night_board import NightBoard, night_board, schedule_of
from dispatch.planner.search.night_search import Allowed, searched
from dispatch.planner.search.state import Schedule

SHAPE = (6, 14, 4, 2)
ROUNDS = 20_000
HEAT = Heat(20_000.0, 20.0, 2)


def found(seed: int = 3) -> str:
    problem = night(*SHAPE)
    return json.dumps(searched(problem, greedy(problem), Allowed(60.0, ROUNDS, 1, seed)).orders)


def test_the_same_seed_finds_the_same_and_another_may_not() -> None:
    assert found() == found()
    problem = night(*SHAPE)
    assert len({found(seed) for seed in range(6)} | {json.dumps(greedy(problem).orders)}) > 1


@pytest.mark.parametrize("hash_seed", ["1", "2"])
def test_another_process_finds_the_same(hash_seed: str) -> None:
    code = "from tests.dispatch.planner.search.test_repeatable import found; print(found())"
    done = subprocess.run(
        [sys.executable, "-c", code],
        env=os.environ | {"PYTHONHASHSEED": hash_seed},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip() == found()


@pytest.fixture(scope="module")
def board() -> NightBoard:
    return night_board(night(*SHAPE))


@pytest.fixture(scope="module")
def start(board: NightBoard) -> Schedule:
    return schedule_of(board, greedy(board.problem))


def test_two_workers_find_the_better_of_what_each_finds_alone(board: NightBoard, start: Schedule) -> None:
    alone = [Runner(board.board, start, 9000 + number) for number in range(2)]
    for each in alone:
        each.run(HEAT, Effort(0.0, 0.0, ROUNDS))
    better = min(alone, key=lambda each: each.costs[1])
    both = improved(board.board, start, HEAT, 0.0, 2, 9, ROUNDS)
    assert np.array_equal(both.where, better.best.where)
    assert np.array_equal(both.start, better.best.start)
    assert alone[0].random[0] != alone[1].random[0]


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("rounds", [1, 50, 5_000])
def test_a_search_never_ends_dearer_than_it_began(seed: int, rounds: int) -> None:
    problem = night(*SHAPE)
    quick = greedy(problem)
    assert searched(problem, quick, Allowed(0.0, rounds, 1, seed)).cost <= quick.cost


def test_so_many_moves_are_made_and_hardly_more(board: NightBoard, start: Schedule) -> None:
    runner = Runner(board.board, start, 1)
    runner.run(Heat(1_000.0, 10.0, 4), Effort(0.0, 0.0, ROUNDS))
    assert ROUNDS <= runner.moves <= 1.1 * ROUNDS


def test_effort_is_the_share_of_the_time_or_of_the_moves(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(improve, "perf_counter", lambda: 105.0)
    assert Effort(100.0, 110.0).spent(10**9) == 0.5
    assert Effort(100.0, 105.0).spent(0) == 1.0
    assert Effort(105.0, 105.0).spent(0) == 0.0
    assert Effort(100.0, 110.0, rounds=80).spent(20) == 0.25


def test_a_search_on_the_clock_ends_with_its_time(
    board: NightBoard, start: Schedule, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A clock that goes on by a hundredth of the time whenever it is read."""
    ticks = count()
    monkeypatch.setattr(improve, "perf_counter", lambda: next(ticks) / 100)
    runner = Runner(board.board, start, 1)
    runner.run(HEAT, Effort(0.0, 1.0))
    assert 95 <= next(ticks) <= 110
    assert runner.moves > 0
    assert runner.costs[1] <= runner.costs[0]


def test_a_time_that_is_over_leaves_the_start_as_it_is(
    board: NightBoard, start: Schedule, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(improve, "perf_counter", lambda: 7.0)
    runner = Runner(board.board, start, 1)
    runner.run(HEAT, Effort(5.0, 6.0))
    assert runner.moves == 0
    assert np.array_equal(runner.best.where, start.where)


def test_a_search_on_the_real_clock_returns(board: NightBoard, start: Schedule) -> None:
    best = improved(board.board, start, HEAT, 0.05, 2, 1)
    assert best.where.shape == start.where.shape
