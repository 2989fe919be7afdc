"""Every price turns the plan exactly where it should: a point below break-even and a point above.

In each case one of two plans pays the price once and the other pays `ASIDE` points of something else,
all further prices being nothing. At `ASIDE` the two are equal; a point either way decides.
"""

from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from typing import Any

import pytest

from dispatch.planner.check import broken_rules
from dispatch.planner.night import greedy_plan, plan_night
from dispatch.planner.parameters import Lateness, Urgency, Weights
from dispatch.planner.plan import Plan, Status
from dispatch.planner.problem import Commitment, Job, Level, Neighbour, Problem, Role, Stage, Vet
from tests.dispatch.planner.small import REPEATABLE, call, goes, problem, vet

ASIDE = 137
MISSED = 1_000_000
NOTHING = Lateness(0, 0, 0, 0, MISSED)
FREE = Weights(**{each.name: 0 for each in fields(Weights) if each.name != "lateness"})
SECOND = {"role": Role.SECOND}
"""Calling on the second is what the other plan pays, in most cases."""


def priced(**changes: Any) -> Weights:
    """Prices of nothing but those named; names of a lateness are those of every urgency."""
    of_urgency = {
        name: changes.pop(name) for name in [each.name for each in fields(Lateness)] if name in changes
    }
    figures = replace(NOTHING, **of_urgency)
    return replace(FREE, lateness=dict.fromkeys(Urgency, figures), **changes)


@dataclass(frozen=True)
class Case:
    """The night at one weight, whether the plan pays the price rather than `ASIDE`, and its term's name."""

    night: Callable[[Weights], Problem]
    pays: Callable[[Plan], bool]
    term: str
    aside: str = "second_on_call"


def of_two_vets(payer: Vet, job: Job | None = None, **changes: Any) -> Callable[[Weights], Problem]:
    """The job goes to Vet A, who pays the price, or to the second on call."""
    rival = vet("b", "home b", skills=FULLY, **SECOND)
    return lambda weights: problem([job or call()], [payer, rival], weights=weights, **changes)


def sends_a(plan: Plan) -> bool:
    return goes(plan, "c1") == ["a"]


FULLY = {name: Level.SOLO for name in ("first_opinion_farm", "calving", "caesar_cattle", "equine")}
CALVING = (frozenset({"calving"}),)
A = vet()
BUSY = vet(present_job_min=1)  # there at 21, the second at 20
NORTH, EAST = "north", "east"


def left(plan: Plan) -> bool:
    return goes(plan, "c1") == []


def or_be_left(job: Job, **changes: Any) -> Callable[[Weights], Problem]:
    """The job is left, at the price, or the second on call goes."""
    return lambda weights: problem([job], [vet(**SECOND)], weights=weights, **changes)


def two_farms(first: Job, other: Job, **changes: Any) -> Callable[[Weights], Problem]:
    """One vet, two jobs: in one order the price is paid, in the other `ASIDE` minutes of lateness."""
    return lambda weights: problem([first, other], [A], weights=weights, **changes)


def does_first(name: str) -> Callable[[Plan], bool]:
    return lambda plan: plan.route_of("a").stops[0].job == name


def late_if_second(**changes: Any) -> Job:
    """Due `ASIDE` minutes before it could begin as the second job, after 160 minutes at the first."""
    return call("c2", EAST, arrive_by=20 + 160 + 20 - ASIDE, **changes)


def long_first(**changes: Any) -> Job:
    return call("c1", NORTH, arrive_by=None, duration_min=160, pessimistic_min=160, **changes)


SUPPORTED = {"calving": Level.WITH_PHONE_SUPPORT}
CASES: dict[str, Case] = {
    "late_per_min": Case(of_two_vets(BUSY, call(arrive_by=20)), sends_a, "late"),
    "worse_step": Case(of_two_vets(BUSY, call(arrive_by=20, worse_at=20)), sends_a, "worse"),
    "waiting_per_min": Case(of_two_vets(BUSY, call(arrive_by=None, waiting_since=20)), sends_a, "waiting"),
    "deferred": Case(or_be_left(call(day_team_at=0)), left, "deferred"),
    "missed": Case(or_be_left(call()), left, "missed"),
    "worse_rate_percent": Case(of_two_vets(BUSY, call(arrive_by=20, worse_at=20)), sends_a, "late"),
    "past_shift_end_per_min": Case(of_two_vets(vet(shift_end=79)), sends_a, "past_shift_end"),
    "waking": Case(of_two_vets(vet(asleep=True)), sends_a, "waking"),
    "second_on_call": Case(
        lambda weights: problem([call()], [vet(**SECOND), vet("b", "home b", asleep=True)], weights=weights),
        sends_a, "second_on_call", "waking"),
    "not_preferred_skill": Case(
        of_two_vets(A, call(preferred=frozenset({"equine"}))), sends_a, "not_preferred_skill"),
    "phone_support": Case(
        of_two_vets(vet(skills=SUPPORTED), call(skills=CALVING), phone_support={"calving": "the partner"}),
        sends_a, "phone_support"),
    "moved_offer": Case(
        lambda weights: problem(
            [call()], [vet(), vet("b", "home b", **SECOND)], weights=weights,
            commitments=(Commitment("c1", "b", Stage.OFFERED),)),
        sends_a, "moved_offer"),
    "pushed_back": Case(
        two_farms(long_first(), late_if_second(), commitments=(Commitment("c1", "a", Stage.ACCEPTED),)),
        does_first("c2"), "pushed_back", "late_per_min"),
    "dropped": Case(
        or_be_left(call(), commitments=(Commitment("c1", "a", Stage.ACCEPTED),)), left, "dropped"),
    "hand_over": Case(
        or_be_left(call(), neighbours=(Neighbour("n", "the neighbours", "neighbour", 20),)), left,
        "hand_over"),
    "dirty_to_clean": Case(
        two_farms(long_first(soiling=0), late_if_second(soiling=1)), does_first("c2"), "dirty_to_clean",
        "late_per_min"),
    "last_with_skill": Case(
        lambda weights: problem(
            [call()], [vet(skills=FULLY), vet("b", "home b", **SECOND)], weights=weights,
            scarce_skills=frozenset({"caesar_cattle"})),
        sends_a, "last_with_skill"),
    "fairness": Case(of_two_vets(vet(share=1)), sends_a, "fairness"),
}  # fmt: skip
OTHERS: dict[str, dict[str, int]] = {
    "worse_rate_percent": {"late_per_min": 100},
    "dropped": {"missed": 0},
}
"""What else is priced: a minute late at 100 points makes every per cent a point; nobody pays to be missed."""


def plan_at(name: str, weight: int) -> Plan:
    case = CASES[name]
    aside = 1 if case.aside == "late_per_min" else ASIDE
    weights = priced(**{case.aside: aside, **OTHERS.get(name, {}), name: weight})
    question = case.night(weights)
    plan = plan_night(question, REPEATABLE)
    assert broken_rules(question, plan) == ()
    assert plan.status == Status.OPTIMAL
    return plan


@pytest.mark.parametrize("name", CASES)
def test_a_point_below_break_even_the_price_is_paid(name: str) -> None:
    plan = plan_at(name, ASIDE - 1)
    assert CASES[name].pays(plan)
    assert plan.costs[CASES[name].term] == ASIDE - 1


@pytest.mark.parametrize("name", CASES)
def test_a_point_above_break_even_it_is_not(name: str) -> None:
    plan = plan_at(name, ASIDE + 1)
    assert not CASES[name].pays(plan)
    assert plan.cost == ASIDE


@pytest.mark.parametrize("name", CASES)
def test_at_break_even_either_will_do(name: str) -> None:
    assert plan_at(name, ASIDE).cost == ASIDE


@pytest.mark.parametrize(("weight", "sent"), [(ASIDE - 1, "a"), (ASIDE + 1, "b")])
def test_a_minute_more_at_the_wheel_is_worth_its_price(weight: int, sent: str) -> None:
    """Vet A drives 41 minutes in all, the second 40."""
    roads = [list(row) for row in problem([], []).travel_min]
    roads[0][3] = 21
    question = problem(
        [call()], [vet(), vet("b", "home b", **SECOND)], travel_min=tuple(map(tuple, roads)),
        weights=priced(driving_per_min=weight, second_on_call=ASIDE),
    )  # fmt: skip
    plan = plan_night(question, REPEATABLE)
    assert goes(plan, "c1") == [sent]
    assert plan.costs["driving"] == weight * (41 if sent == "a" else 40)


@pytest.mark.parametrize(("points", "sent"), [(ASIDE - 1, "a"), (ASIDE + 1, "b")])
@pytest.mark.parametrize("from_minute", [0, 79])
def test_a_minute_awake_is_worth_its_points(points: int, sent: str, from_minute: int) -> None:
    """The curve of fatigue is the vet's own: dear from minute 79 to being home at 80, or dear once, at 0."""
    curve = ((0, points), (1, 0)) if from_minute == 0 else ((0, 0), (79, points))
    question = problem(
        [call()], [vet(awake_cost=curve), vet("b", "home b", **SECOND)],
        weights=priced(second_on_call=ASIDE),
    )  # fmt: skip
    assert goes(plan_night(question, REPEATABLE), "c1") == [sent]


def test_every_price_there_is_has_its_case() -> None:
    named = {each.name for kind in (Weights, Lateness) for each in fields(kind)} - {"lateness"}
    assert named == {*CASES, "driving_per_min"}  # which has a test of its own


@pytest.mark.parametrize("name", ["waking", "second_on_call", "phone_support", "fairness", "deferred"])
@pytest.mark.parametrize("step", [-1, 1])
def test_the_quick_planner_turns_at_the_same_point(name: str, step: int) -> None:
    """With one job there is nothing to be short-sighted about."""
    case = CASES[name]
    question = case.night(priced(**{case.aside: ASIDE, **OTHERS.get(name, {}), name: ASIDE + step}))
    assert case.pays(greedy_plan(question)) is (step < 0)
