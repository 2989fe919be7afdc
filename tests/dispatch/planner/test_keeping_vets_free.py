"""Who had better be kept free, and who has had the most nights: prices that never outweigh an animal."""

from typing import Any

import pytest

from dispatch.planner.check import broken_rules
from dispatch.planner.night import greedy_plan, plan_night
from dispatch.planner.parameters import Urgency
from dispatch.planner.plan import Plan
from dispatch.planner.problem import Job, Level, Vet
from tests.dispatch.planner.small import REPEATABLE, call, goes, problem, vet

SURGEON = {"first_opinion_farm": Level.SOLO, "caesar_cattle": Level.SOLO}
SCARCE: dict[str, Any] = {"scarce_skills": frozenset({"caesar_cattle"})}


def routine(**changes: Any) -> Job:
    return call(**({"urgency": Urgency.SAME_DAY, "arrive_by": 20} | changes))


def both(job: Job, vets: list[Vet], **changes: Any) -> list[Plan]:
    question = problem([job], vets, **changes)
    plans = [plan_night(question, REPEATABLE), greedy_plan(question)]
    assert all(broken_rules(question, plan) == () for plan in plans)
    return plans


@pytest.mark.parametrize(("later", "sent"), [(14, "b"), (15, "a")])
def test_the_only_surgeon_is_kept_free_until_that_costs_a_minute_too_much(later: int, sent: str) -> None:
    """A minute later costs 103 points here, and spending the last surgeon 1,500."""
    vets = [vet(skills=SURGEON), vet("b", "home b", present_job_min=later)]
    for plan in both(routine(), vets, **SCARCE):
        assert goes(plan, "c1") == [sent]
        assert plan.costs.get("last_with_skill", 0) == (1500 if sent == "a" else 0)


def test_work_that_needs_the_skill_is_what_the_surgeon_was_kept_for() -> None:
    needed = (frozenset({"caesar_cattle", "caesar_small"}),)
    for plan in both(routine(skills=needed), [vet(skills=SURGEON)], **SCARCE):
        assert "last_with_skill" not in plan.costs


@pytest.mark.parametrize(
    ("other", "points"),
    [
        ({"skills": SURGEON}, 0),
        ({"skills": SURGEON | {"caesar_cattle": Level.WITH_PHONE_SUPPORT}}, 1500),
        ({"skills": SURGEON, "stood_down": "Stood down until 08:00."}, 1500),
    ],
)
def test_only_a_colleague_who_does_it_alone_and_is_free_tonight_counts(
    other: dict[str, Any], points: int
) -> None:
    busy = vet("b", "home b", **({"present_job_min": 400} | other))
    for plan in both(routine(), [vet(skills=SURGEON), busy], **SCARCE):
        assert plan.costs.get("last_with_skill", 0) == points


@pytest.mark.parametrize("burdened", ["a", "b"])
def test_of_equal_vets_the_one_with_fewer_call_outs_goes(burdened: str) -> None:
    vets = [vet(share=int(burdened == "a")), vet("b", "home b", share=int(burdened == "b"))]
    for plan in both(call(), vets):
        assert goes(plan, "c1") != [burdened]
        assert "fairness" not in plan.costs


def test_a_share_never_outweighs_a_minute_of_an_urgent_call() -> None:
    for plan in both(call(), [vet(share=9), vet("b", "home b", present_job_min=1)]):
        assert goes(plan, "c1") == ["a"]
        assert plan.costs["fairness"] == 9
