"""After a farm under suspicion of a notifiable disease a vet goes nowhere else, and so goes there last."""

from collections.abc import Callable
from typing import Any

import pytest

from dispatch.planner.check import broken_rules
from dispatch.planner.night import greedy_plan, plan_night
from dispatch.planner.plan import Plan
from dispatch.planner.problem import Commitment, Problem, Stage
from tests.dispatch.planner.small import REPEATABLE, booked, call, goes, problem, vet

Planner = Callable[[Problem], Plan]


def solved(question: Problem) -> Plan:
    return plan_night(question, REPEATABLE)


both = pytest.mark.parametrize("planner", [solved, greedy_plan])


def suspect(name: str = "s", **changes: Any) -> Any:
    return call(name, **({"place": "north"} | {"stand_off": True, "arrive_by": 20} | changes))


def order(planner: Planner, question: Problem, vet_id: str = "a") -> list[str]:
    plan = planner(question)
    assert broken_rules(question, plan) == ()
    return [stop.job for stop in plan.route_of(vet_id).stops]


@both
@pytest.mark.parametrize(("stand_off", "expected"), [(False, ["s", "c1"]), (True, ["c1", "s"])])
def test_the_suspect_farm_comes_last_although_it_is_due_first(
    planner: Planner, stand_off: bool, expected: list[str]
) -> None:
    later = call(place="east", arrive_by=80)
    assert order(planner, problem([suspect(stand_off=stand_off), later], [vet()])) == expected


@both
@pytest.mark.parametrize(("opens", "expected"), [(20, ["b1", "s"]), (21, ["s"])])
def test_a_visit_that_opens_too_late_to_come_first_is_not_made_after_it(
    planner: Planner, opens: int, expected: list[str]
) -> None:
    """The suspect farm must be entered before 70: 20 min there, 30 of work, 20 on."""
    jobs = [booked(opens=opens, closes=200), booked("s", "north", 0, 71, stand_off=True)]
    assert order(planner, problem(jobs, [vet()])) == expected


@both
def test_a_second_vet_takes_what_may_not_come_after_it(planner: Planner) -> None:
    jobs = [suspect(), booked(opens=60, closes=120)]
    plan = planner(problem(jobs, [vet(), vet("b", "home b")]))
    assert sorted(goes(plan, "s") + goes(plan, "b1")) == ["a", "b"]


@both
def test_nobody_goes_to_two_suspect_farms(planner: Planner) -> None:
    jobs = [suspect(), suspect("s2", place="east")]
    assert len(order(planner, problem(jobs, [vet()]))) == 1


@both
def test_a_vet_on_the_way_there_gets_no_other_work_and_is_told_why(planner: Planner) -> None:
    held = (Commitment("s", "a", Stage.UNDER_WAY, eta_min=10),)
    question = problem([suspect(), call(place="east")], [vet()], commitments=held)
    assert order(planner, question) == ["s"]
    (said,) = [each for each in planner(question).verdicts if each.job == "c1"]
    assert [refusal.code for refusal in said.refusals] == ["stand_off"]
    assert said.sentence == "Goes nowhere else after s until the authority clears it."


@both
def test_accepted_work_yields_its_order_to_a_stand_off(planner: Planner) -> None:
    held = (Commitment("s", "a", Stage.ACCEPTED, 0), Commitment("c1", "a", Stage.ACCEPTED, 1))
    assert order(planner, problem([suspect(), call(place="east")], [vet()], commitments=held)) == ["c1", "s"]


@both
def test_work_signed_for_is_still_done_after_what_cannot_be_called_back(planner: Planner) -> None:
    held = (
        Commitment("s", "a", Stage.UNDER_WAY, 0),
        Commitment("c1", "a", Stage.ACCEPTED, 1, signed=True),
    )
    question = problem([suspect(), call(place="east")], [vet()], commitments=held)
    assert order(planner, question) == ["s", "c1"]
    assert planner(question).route_of("a").warnings == (
        "Vet A: c1 was signed for and comes after s. Ask the authority before going on.",
    )


@both
def test_a_new_suspect_farm_goes_behind_work_signed_for(planner: Planner) -> None:
    held = (Commitment("c1", "a", Stage.ACCEPTED, signed=True),)
    question = problem([suspect(), call(place="east", arrive_by=300)], [vet()], commitments=held)
    assert order(planner, question) == ["c1", "s"]


@both
def test_both_vets_of_a_shared_suspect_farm_go_nowhere_else(planner: Planner) -> None:
    jobs = [suspect(vets_needed=2), call(place="east", arrive_by=80), call("c2", "south", arrive_by=80)]
    question = problem(jobs, [vet(), vet("b", "home b")])
    assert order(planner, question, "a")[-1] == order(planner, question, "b")[-1] == "s"


def test_a_verdict_puts_new_work_before_an_accepted_suspect_farm() -> None:
    held = (Commitment("s", "a", Stage.ACCEPTED),)
    question = problem([suspect(), call(place="east", vets_needed=2)], [vet()], commitments=held)
    (said,) = [each for each in solved(question).verdicts if each.job == "c1"]
    assert (said.can_go, said.arrive, said.home_at) == (True, 20, 140)


def test_a_verdict_on_a_second_suspect_farm_says_that_the_first_forbids_it() -> None:
    held = (Commitment("s", "a", Stage.ACCEPTED),)
    question = problem([suspect(), suspect("s2", place="east")], [vet()], commitments=held)
    said = next(each for each in solved(question).verdicts if each.job == "s2")
    assert [refusal.code for refusal in said.refusals] == ["stand_off"]
