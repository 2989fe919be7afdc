"""A job for two whose second may come a little later: who leads is there first, with the kit."""

from typing import Any

import pytest

from dispatch.planner.check import broken_rules
from dispatch.planner.night import greedy_plan, plan_night
from dispatch.planner.plan import Plan
from dispatch.planner.problem import Job, KitItem, Level, Vet, Window
from tests.dispatch.planner.small import REPEATABLE, call, goes, problem, vet

KIT = frozenset({"surgical_kit_cattle"})
CAR = (KitItem("surgical_kit_cattle"),)
SURGEON = {"first_opinion_farm": Level.SOLO, "caesar_cattle": Level.SOLO}


def caesarean(**changes: Any) -> Job:
    given: dict[str, Any] = {
        "vets_needed": 2, "skills": (frozenset({"caesar_cattle"}),), "second_within_min": 15,
        "duration_min": 100, "pessimistic_min": 100,
    }  # fmt: skip
    return call(**(given | changes))


def starts(job: Job, vets: list[Vet]) -> dict[str, int]:
    """When each vet starts, found alike by the solver and by the quick planner."""
    question = problem([job], vets)
    found = [plan_night(question, REPEATABLE), greedy_plan(question)]
    for plan in found:
        assert broken_rules(question, plan) == ()
    first, second = ({name: stop.start for name, stop in plan.stops_of("c1")} for plan in found)
    assert first == second
    return first


@pytest.mark.parametrize(("busy", "lead", "second"), [(14, 20, 34), (15, 20, 35), (16, 21, 36)])
def test_the_lead_starts_at_once_and_waits_only_for_minutes_beyond_those_allowed(
    busy: int, lead: int, second: int
) -> None:
    vets = [vet(skills=SURGEON), vet("b", "home b", present_job_min=busy)]
    assert starts(caesarean(), vets) == {"a": lead, "b": second}


@pytest.mark.parametrize("busy", [15, 16])
def test_who_cannot_lead_does_not_start_before_the_lead_is_there(busy: int) -> None:
    vets = [vet(), vet("b", "home b", present_job_min=busy, skills=SURGEON)]
    assert starts(caesarean(), vets) == {"a": 20 + busy, "b": 20 + busy}


@pytest.mark.parametrize("early", ["a", "b"])
def test_of_two_who_could_lead_the_earlier_one_does(early: str) -> None:
    late = {"a": "b", "b": "a"}[early]
    vets = [
        vet(name, f"home {name}", skills=SURGEON, present_job_min=10 if name == late else 0) for name in "ab"
    ]
    assert starts(caesarean(), vets) == {early: 20, late: 30}


@pytest.mark.parametrize(("arrive_by", "late"), [(20, 0), (19, 600)])
def test_the_job_is_as_late_as_its_lead(arrive_by: int, late: int) -> None:
    vets = [vet(skills=SURGEON), vet("b", "home b", present_job_min=10)]
    for plan in both(caesarean(arrive_by=arrive_by), vets):
        assert plan.costs.get("late", 0) == late
        assert {stop.late_min for _, stop in plan.stops_of("c1")} == {20 - arrive_by}


def both(job: Job, vets: list[Vet]) -> list[Plan]:
    question = problem([job], vets)
    return [plan_night(question, REPEATABLE), greedy_plan(question)]


@pytest.mark.parametrize(("home_by", "sent"), [(150, True), (149, False)])
def test_the_second_works_the_whole_job_from_the_own_start(home_by: int, sent: bool) -> None:
    """20 min there, 10 after the lead, 100 of work, 20 home: 150."""
    vets = [vet(skills=SURGEON), vet("b", "home b", present_job_min=10, home_by=home_by)]
    for plan in both(caesarean(), vets):
        assert bool(goes(plan, "c1")) is sent


@pytest.mark.parametrize(("closes", "sent"), [(31, True), (30, False)])
def test_both_start_before_the_window_closes(closes: int, sent: bool) -> None:
    vets = [vet(skills=SURGEON), vet("b", "home b", present_job_min=10)]
    for plan in both(caesarean(window=Window(0, closes)), vets):
        assert bool(goes(plan, "c1")) is sent


@pytest.mark.parametrize(
    ("carrier", "able", "sent"),
    [("a", "a", True), ("b", "a", False), ("a", "b", False), ("b", "b", True)],
)
def test_the_one_who_leads_brings_the_kit(carrier: str, able: str, sent: bool) -> None:
    vets = [
        vet(
            name,
            f"home {name}",
            kit=CAR if name == carrier else (),
            **({"skills": SURGEON} if name == able else {}),
        )
        for name in "ab"
    ]
    for plan in both(caesarean(kit=KIT, kit_used=KIT), vets):
        assert bool(goes(plan, "c1")) is sent


@pytest.mark.parametrize(("ready", "lead"), [(20, 20), (30, 30), (31, 31)])
def test_kit_that_is_not_ready_holds_the_lead_and_the_second_with_it(ready: int, lead: int) -> None:
    vets = [
        vet(skills=SURGEON, kit=(KitItem("surgical_kit_cattle", ready),)),
        vet("b", "home b", present_job_min=10),
    ]
    assert starts(caesarean(kit=KIT), vets) == {"a": lead, "b": max(30, lead)}


@pytest.mark.parametrize(("within", "start"), [(0, 36), (1, 35), (16, 20)])
def test_each_minute_allowed_lets_the_lead_start_a_minute_sooner(within: int, start: int) -> None:
    vets = [vet(skills=SURGEON), vet("b", "home b", present_job_min=16)]
    assert starts(caesarean(second_within_min=within), vets) == {"a": start, "b": 36}
