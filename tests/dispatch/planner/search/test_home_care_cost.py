"""What the search says of a home-care day is what the re-check says, which knows no search."""

from itertools import chain
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.planner.home_care.check import broken_rules, cost
from dispatch.planner.home_care.files import read_solution
from dispatch.planner.home_care.instance import Instance, Solution
from dispatch.planner.home_care.reading import read_instance
from dispatch.planner.home_care.solving import board_of, solution_of
from dispatch.planner.search.anneal import whole_cost
from dispatch.planner.search.board import Board
from dispatch.planner.search.moves import BOTH, MOVE, NEAR, SEGMENT, SWAP, SWAP_NEAR, TAILS
from dispatch.planner.search.start import appended
from dispatch.planner.search.state import Schedule, empty_schedule, new_trial
from tests.dispatch.planner.home_care.days import DAY, PUBLISHED, SOLUTION, instances, needs_published
from tests.dispatch.planner.search.walks import cost_afresh, wandered

KINDS = (MOVE, NEAR, SWAP, SWAP_NEAR, TAILS, SEGMENT, BOTH)
HOT = 1e6
PAIRED = [*PUBLISHED.glob("solutions/sol-*_1-*.json*")] if PUBLISHED.is_dir() else []


def agree(instance: Instance, board: Board, schedule: Schedule, said: float) -> None:
    solution = solution_of(instance, board, schedule)
    assert broken_rules(instance, solution) == ()
    assert cost(instance, solution) == pytest.approx(said, abs=1e-6)


@given(instances(), st.integers(0, 300), st.randoms(use_true_random=False))
def test_a_day_after_any_moves_costs_what_the_re_check_says(
    instance: Instance, moves: int, random: object
) -> None:
    order = list(range(len(instance.patients)))
    random.shuffle(order)  # type: ignore[attr-defined]  # Hypothesis hands out a Random
    board = board_of(instance)
    search = wandered(board, appended(board, order), moves, HOT, kinds=KINDS)
    agree(instance, board, search.x, search.costs[0])
    agree(instance, board, search.best, search.costs[1])


def on_board(instance: Instance, board: Board, solution: Solution) -> Schedule:
    """The routes of a solution, not timed."""
    parts = [(patient.id, service.name) for patient in instance.patients for service in patient.services]
    schedule = empty_schedule(board)
    for vet, caregiver in enumerate(instance.caregivers):
        for place, done in enumerate(solution.routes.get(caregiver.id, ())):
            attendance = parts.index((done.patient, done.service))
            schedule.route[vet, place], schedule.where[attendance] = attendance, vet
            schedule.length[vet] = place + 1
    return schedule


def test_the_small_day_costs_what_is_published() -> None:
    board = board_of(DAY)
    assert cost_afresh(board, on_board(DAY, board, SOLUTION)) == pytest.approx(cost(DAY, SOLUTION))


@needs_published
@pytest.mark.parametrize("path", PAIRED, ids=lambda path: path.name)
def test_a_published_solution_costs_no_more_on_the_board(path: Path) -> None:
    """Its routes timed as early as they can be: never dearer than the published minutes."""
    name = path.name.removeprefix("sol-").rsplit("-", 1)[0]
    (file,) = PUBLISHED.glob(f"instances/{name}.json*")
    instance, solution = read_instance(file), read_solution(path)
    board = board_of(instance)
    schedule = on_board(instance, board, solution)
    said = whole_cost(board, schedule, new_trial(board), True)
    assert said <= cost(instance, solution) + 1e-6
    assert len([*chain(*solution.routes.values())]) == len(board.whole)
    search = wandered(board, schedule, 5_000, 1.0, kinds=KINDS)
    agree(instance, board, search.x, search.costs[0])
    assert search.costs[1] <= said + 1e-6
