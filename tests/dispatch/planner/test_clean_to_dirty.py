"""From clean farms to dirty ones: an order that has its price and is never a ban."""

import pytest

from dispatch.planner.check import broken_rules
from dispatch.planner.costs import cleaning_points
from dispatch.planner.night import greedy_plan, plan_night
from dispatch.planner.parameters import Urgency, Weights
from tests.dispatch.planner.small import REPEATABLE, call, problem, vet

LAMBING = call("lambing", "east", urgency=Urgency.SAME_DAY, arrive_by=None)


@pytest.mark.parametrize(("minutes_late", "first"), [(10, "lambing"), (11, "scour")])
def test_the_clean_farm_comes_first_until_the_dirty_one_has_waited_a_minute_too_long(
    minutes_late: int, first: str
) -> None:
    """Second in turn the scour starts at 80; a same-day minute late costs 100, two levels of dirt 1,010."""
    scour = call("scour", "north", soiling=2, urgency=Urgency.SAME_DAY, arrive_by=80 - minutes_late)
    question = problem([scour, LAMBING], [vet()], weights=Weights(dirty_to_clean=505))
    for plan in (plan_night(question, REPEATABLE), greedy_plan(question)):
        assert broken_rules(question, plan) == ()
        assert plan.route_of("a").stops[0].job == first
        assert plan.costs.get("dirty_to_clean", 0) == (1010 if first == "scour" else 0)


@pytest.mark.parametrize(("last", "following", "points"), [(2, 1, 500), (3, 1, 1000), (1, 1, 0), (0, 1, 0)])
def test_each_level_down_costs_the_same_and_going_up_costs_nothing(
    last: int, following: int, points: int
) -> None:
    question = problem([call(soiling=last), call("c2", soiling=following)], [vet()])
    assert cleaning_points(question, *question.jobs) == points


def test_two_vets_keep_the_dirty_and_the_clean_farm_apart() -> None:
    due = [call("scour", "north", soiling=2, arrive_by=20), call("lambing", "north", arrive_by=60)]
    plan = plan_night(problem(due, [vet(), vet("b", "home b")]), REPEATABLE)
    assert "dirty_to_clean" not in plan.costs
