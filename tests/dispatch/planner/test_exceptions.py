"""The least-bad exceptions: who, past which limit, by how many minutes, and what rest is owed for it."""

from typing import Any

import pytest

from dispatch.planner.night import plan_night
from dispatch.planner.plan import LimitPassed
from dispatch.planner.problem import Job, Vet, Window
from tests.dispatch.planner.small import REPEATABLE, call, problem, vet


def offered(job: Job, vets: list[Vet]) -> tuple[LimitPassed, ...]:
    plan = plan_night(problem([job], vets), REPEATABLE)
    return tuple(each for left in plan.unassigned for each in left.exceptions)


@pytest.mark.parametrize(("home_by", "owed"), [(80, []), (79, [1]), (55, [25])])
def test_as_much_rest_is_owed_as_the_limit_is_passed_by(home_by: int, owed: list[int]) -> None:
    found = offered(call(), [vet(home_by=home_by)])
    assert [each.owed_min for each in found] == [each.over_min for each in found] == owed


def test_the_sentence_says_who_how_far_past_what_and_what_is_owed_until_when() -> None:
    (found,) = offered(call(), [vet(home_by=55, home_by_reason="11 h rest before the day shift")])
    assert found.sentence == (
        "Vet A could be there by 22:20 and home by 23:20, 25 min past 22:55 "
        "(11 h rest before the day shift). A named person must sign. Owed then: 11 h of daily rest "
        "from 23:20 and 25 min more before the next planned duty, so none before Sat 10:45."
    )


@pytest.mark.parametrize(
    ("job", "changes"),
    [
        (call(), {"stood_down": "Stood down until 08:00."}),
        (call(excluded_vets={"a": "Declined at 21:50: too tired."}), {}),
        (call(skills=(frozenset({"euthanasia_firearm"}),)), {}),
        (call(kit=frozenset({"firearm_captive_bolt"})), {}),
        (call(flags=frozenset({"birth"})), {"unavailable_for": frozenset({"birth"})}),
        (call(window=Window(0, 20)), {}),
    ],
)
def test_nobody_is_offered_whom_more_than_a_rest_limit_keeps_away(job: Job, changes: dict[str, Any]) -> None:
    assert offered(job, [vet(home_by=55, **changes)]) == ()


def test_three_are_offered_at_most_and_the_least_passing_first() -> None:
    limits = {"a": 10, "b": 40, "c": 20, "d": 30}
    vets = [vet(name, "home a", home_by=home_by) for name, home_by in limits.items()]
    assert [(each.vet, each.owed_min) for each in offered(call(), vets)] == [("b", 40), ("d", 50), ("c", 60)]
