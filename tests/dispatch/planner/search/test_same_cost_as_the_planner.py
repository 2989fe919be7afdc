"""What the compiled search says a night costs is what the planner itself says, after any moves.

Hundreds of generated nights in each run, thousands with `--hypothesis-profile=thousands`.
"""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from dispatch.planner.greedy import greedy
from dispatch.planner.invented_nights import night
from dispatch.planner.problem import Commitment, KitItem, Problem, Stage
from dispatch.planner.search.night_board import NightBoard, draft_of, night_board, schedule_of
from dispatch.planner.search.state import Schedule
from tests.dispatch.planner.search.walks import broken_by, cost_afresh, either_may_begin, wandered
from tests.dispatch.planner.small import call, problem, vet
from tests.dispatch.planner.strategies import problems

FOLLOWS = (0, 10, 30)
MOVES = 400
often = settings(suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
temperatures = st.sampled_from([50.0, 3_000.0, 200_000.0, 1e9])


def agree(board: NightBoard, schedule: Schedule, cost: float) -> None:
    """The planner times and prices the schedule again, and the checker finds nothing wrong."""
    draft = draft_of(board, schedule)
    assert draft is not None
    assert broken_by(board.problem, draft) == ()
    if not either_may_begin(board.problem, draft):
        assert draft.cost == pytest.approx(cost, abs=1e-6)


@often
@given(problems(most_jobs=7), temperatures)
def test_a_night_after_many_moves_costs_what_the_planner_says(question: Problem, hot: float) -> None:
    board = night_board(question)
    search = wandered(board.board, schedule_of(board, greedy(question)), MOVES, hot)
    agree(board, search.x, search.costs[0])
    agree(board, search.best, search.costs[1])


@often
@given(problems(most_jobs=7, follows=FOLLOWS), temperatures)
def test_so_does_a_night_on_which_the_second_vet_may_follow(question: Problem, hot: float) -> None:
    board = night_board(question)
    search = wandered(board.board, schedule_of(board, greedy(question)), MOVES, hot)
    agree(board, search.x, search.costs[0])
    agree(board, search.best, search.costs[1])


@often
@given(problems(most_jobs=7, follows=FOLLOWS))
def test_the_quick_plan_costs_the_same_on_the_board(question: Problem) -> None:
    quick, board = greedy(question), night_board(question)
    search = wandered(board.board, schedule_of(board, quick), 0, 1.0)
    assert search.costs[0] == pytest.approx(quick.cost, abs=1e-6)


@pytest.mark.parametrize("shape", [(1, 20, 6, 2), (2, 40, 10, 4), (3, 100, 25, 0)])
def test_large_nights_too(shape: tuple[int, int, int, int]) -> None:
    question = night(*shape)
    board = night_board(question)
    search = wandered(board.board, schedule_of(board, greedy(question)), 20_000, 20_000.0)
    agree(board, search.x, search.costs[0])
    agree(board, search.best, search.costs[1])
    assert not same_routes(search.x, search.start)
    assert cost_afresh(board.board, search.x) == pytest.approx(search.costs[0], abs=1e-6)


def same_routes(one: Schedule, other: Schedule) -> bool:
    return bool((one.where == other.where).all())


def test_one_vet_who_has_accepted_a_call_for_two_goes_without_the_kit() -> None:
    """The search once waited for a kit that is asked of two only, and so passed the home limit."""
    job = call(vets_needed=2, second_within_min=30, skills=(frozenset({"caesar"}),), kit=frozenset({"jack"}))
    holder = vet(home_by=80, kit=(KitItem("jack", 21),))
    question = problem([job], [holder], commitments=(Commitment("c1", "a", Stage.ACCEPTED),))
    quick, board = greedy(question), night_board(question)
    schedule = schedule_of(board, quick)
    assert schedule.length[0] == 1
    assert cost_afresh(board.board, schedule) == quick.cost


def test_of_two_who_are_there_together_the_one_with_the_kit_leads() -> None:
    """Both may lead; the search once named the other one, for whom there is no kit."""
    job = call(vets_needed=2, second_within_min=30, kit=frozenset({"jack"}))
    question = problem([job], [vet("a"), vet("b", "home b", kit=(KitItem("jack"),))])
    board = night_board(question)
    schedule = schedule_of(board, greedy(question))
    assert [board.parts[part].part for part in schedule.route[:, 0]] == [1, 0]
    assert cost_afresh(board.board, schedule) == greedy(question).cost
