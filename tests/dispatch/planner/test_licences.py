"""A licence is a skill like any other: a firearm, the tuberculin test, a casualty certificate."""

import pytest

from dispatch.planner.check import broken_rules
from dispatch.planner.night import greedy_plan, plan_night
from dispatch.planner.problem import Level, Problem
from dispatch.planner.verdicts import verdict
from tests.dispatch.planner.small import REPEATABLE, booked, call, goes, problem, vet

LICENCES = ("euthanasia_firearm", "official_tb", "casualty_certificate", "official_report")


def sent(question: Problem, job: str) -> list[str]:
    found = [plan_night(question, REPEATABLE), greedy_plan(question)]
    assert all(broken_rules(question, plan) == () for plan in found)
    first, second = (goes(plan, job) for plan in found)
    assert first == second
    return first


@pytest.mark.parametrize("licence", LICENCES)
def test_only_whoever_holds_the_licence_goes_however_near_the_others_are(licence: str) -> None:
    vets = [vet(place="north"), vet("b", "home b", present_job_min=90, skills={licence: Level.SOLO})]
    question = problem([call(skills=(frozenset({licence}),))], vets)
    assert sent(question, "c1") == ["b"]
    (refusal,) = verdict(question, vets[0], question.jobs[0]).refusals
    assert refusal.sentence == f"Not skilled for {licence.replace('_', ' ')}."


@pytest.mark.parametrize("licence", LICENCES)
def test_nobody_goes_without_it(licence: str) -> None:
    assert sent(problem([call(skills=(frozenset({licence}),))], [vet()]), "c1") == []


@pytest.mark.parametrize("held", ["euthanasia_firearm", "euthanasia_injection"])
def test_either_of_two_ways_does_where_the_trade_allows_either(held: str) -> None:
    either = (frozenset({"euthanasia_firearm", "euthanasia_injection"}),)
    assert sent(problem([call(skills=either)], [vet(skills={held: Level.SOLO})]), "c1") == ["a"]


@pytest.mark.parametrize(("closes", "expected"), [(21, ["b"]), (20, [])])
def test_a_test_reading_is_kept_by_the_licensed_vet_to_the_minute_or_not_at_all(
    closes: int, expected: list[str]
) -> None:
    reading = booked(opens=0, closes=closes, skills=(frozenset({"official_tb"}),))
    vets = [vet(place="east"), vet("b", "home b", skills={"official_tb": Level.SOLO})]
    assert sent(problem([reading], vets), "b1") == expected
