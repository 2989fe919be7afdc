"""The checker finds each way of spoiling a good plan, and finds nothing wrong with the good one."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from dispatch.planner.check import broken_rules
from dispatch.planner.night import plan_night
from dispatch.planner.parameters import Urgency
from dispatch.planner.plan import Outcome, Plan, Route, Stop, Unassigned
from dispatch.planner.problem import Commitment, Job, KitItem, KitStore, Level, Neighbour, Problem, Stage
from tests.dispatch.planner.small import REPEATABLE, booked, call, problem, vet

KIT = frozenset({"surgical_kit_cattle"})
SHELVED = ("base", "surgical_kit_cattle")
SURGEON = {"caesar_cattle": Level.SOLO, "first_opinion_farm": Level.SOLO}


def question() -> Problem:
    """Two vets, a shared job with kit to fetch, a visit, accepted work, one call for the neighbours."""
    jobs = [
        call("shared", vets_needed=2, skills=(frozenset({"caesar_cattle"}),), kit=KIT, kit_used=KIT),
        booked("visit", "east", 120, 240),
        call("accepted", "south", arrive_by=300),
        call("equine", "west", skills=(frozenset({"equine"}),), arrive_by=60),
        call(
            "later",
            "west",
            urgency=Urgency.NEXT_WORKING_DAY,
            day_team_at=600,
            arrive_by=900,
            excluded_vets={"a": "Declined.", "b": "Declined."},
        ),
    ]
    return problem(
        jobs,
        [vet(skills=SURGEON, home_by=400), vet("b", "home b", home_by=400)],
        commitments=(Commitment("accepted", "b", Stage.ACCEPTED),),
        stores=(KitStore("base", "surgical_kit_cattle"),),
        neighbours=(Neighbour("n", "the neighbours", "neighbour", 20),),
    )


@pytest.fixture(scope="module")
def good() -> Plan:
    return plan_night(question(), REPEATABLE)


def stop_of(plan: Plan, job: str) -> tuple[str, Stop]:
    return plan.stops_of(job)[0]


def with_stop(plan: Plan, vet_id: str, job: str, **changes: object) -> Plan:
    """The plan with one stop changed and nothing else."""
    routes = []
    for route in plan.routes:
        stops = tuple(
            replace(stop, **changes) if (route.vet, stop.job) == (vet_id, job) else stop
            for stop in route.stops
        )
        routes.append(replace(route, stops=stops))
    return replace(plan, routes=tuple(routes))


def moved(plan: Plan, job: str, minutes: int) -> Plan:
    vet_id, stop = stop_of(plan, job)
    return with_stop(
        plan, vet_id, job, leave=stop.leave + minutes, arrive=stop.arrive + minutes,
        start=stop.start + minutes, finish=stop.finish + minutes,
    )  # fmt: skip


def without(plan: Plan, job: str) -> Plan:
    routes = tuple(replace(r, stops=tuple(s for s in r.stops if s.job != job)) for r in plan.routes)
    return replace(plan, routes=routes)


def given_to(plan: Plan, job: str, vet_id: str) -> Plan:
    """The stop of a job handed to another vet, minutes and all."""
    _, stop = stop_of(plan, job)
    bare = without(plan, job)
    routes = tuple(replace(r, stops=(*r.stops, stop)) if r.vet == vet_id else r for r in bare.routes)
    return replace(bare, routes=routes)


def left_as(plan: Plan, job: str, **changes: object) -> Plan:
    left = tuple(replace(each, **changes) if each.job == job else each for each in plan.unassigned)
    return replace(plan, unassigned=left)


def start_shifted(plan: Plan, vet_id: str, job: str, minutes: int) -> Plan:
    _, stop = next(each for each in plan.stops_of(job) if each[0] == vet_id)
    return with_stop(plan, vet_id, job, start=stop.start + minutes)


def visit_with(plan: Plan, **changes: object) -> Plan:
    return with_stop(plan, stop_of(plan, "visit")[0], "visit", **changes)


def both_at_shared(plan: Plan, **changes: object) -> Plan:
    return with_stop(with_stop(plan, "a", "shared", **changes), "b", "shared", **changes)


def also_left(plan: Plan, *more: Unassigned) -> Plan:
    return replace(plan, unassigned=(*plan.unassigned, *more))


def with_routes(plan: Plan, change: Callable[[Route], Route]) -> Plan:
    return replace(plan, routes=tuple(change(route) for route in plan.routes))


def bare_of(route: Route, job: str, vet_id: str) -> Route:
    if route.vet != vet_id:
        return route
    return replace(route, stops=tuple(stop for stop in route.stops if stop.job != job))


UNMET = Outcome.CANNOT_BE_MET
HANDED = Outcome.HAND_OVER
SERVED = Unassigned("visit", UNMET, "")
GIVEN = Unassigned("accepted", HANDED, "", 40, "n")
SPOILED: dict[str, tuple[Callable[[Plan], Plan], str]] = {
    "a job forgotten": (lambda plan: without(plan, "visit"), "neither served"),
    "a job left and served": (lambda plan: also_left(plan, SERVED), "served and left"),
    "a job left twice": (lambda plan: also_left(plan, plan.unassigned[0]), "left twice"),
    "a job nobody knows": (lambda plan: also_left(plan, Unassigned("phantom", UNMET, "")), "no job phantom"),
    "a vet nobody knows": (lambda plan: replace(plan, routes=(*plan.routes, Route("z"))), "no vet z"),
    "two routes of one vet": (lambda plan: replace(plan, routes=(*plan.routes, Route("a"))), "two routes"),
    "accepted work given away": (lambda plan: given_to(plan, "accepted", "a"), "accepted by b"),
    "accepted work handed on": (lambda plan: also_left(without(plan, "accepted"), GIVEN), "given 2 calls"),
    "a start before the window": (lambda plan: moved(plan, "visit", -60), "being let in"),
    "a start after the window": (lambda plan: moved(plan, "visit", 150), "after its window closed"),
    "a vet in two places": (lambda plan: moved(plan, "accepted", -15), "is not free before"),
    "vets apart": (lambda plan: start_shifted(plan, "a", "shared", 1), "do not start together"),
    "one vet alone": (lambda plan: with_routes(plan, lambda r: bare_of(r, "shared", "b")), "neither served"),
    "kit from nowhere": (lambda plan: both_at_shared(plan, fetch=()), "without a usable"),
    "kit left at home": (lambda plan: both_at_shared(plan, brings_kit=False), "Nobody brings the kit"),
    "an empty shelf": (lambda plan: visit_with(plan, fetch=(SHELVED,)), "which has 1"),
    "a longer job": (lambda plan: visit_with(plan, finish=160), "not the plan"),
    "a shorter drive": (lambda plan: visit_with(plan, drive_min=19), "it takes 20"),
    "home a minute sooner": (
        lambda plan: with_routes(plan, lambda r: replace(r, home_at=(r.home_at or 0) - 1)), "not as told"),
    "a neighbour too quick": (lambda plan: left_as(plan, "equine", start=39), "before 40"),
    "a neighbour unheard of": (lambda plan: left_as(plan, "equine", neighbour="m"), "can take 0"),
    "a neighbour given two": (
        lambda plan: left_as(plan, "later", outcome=HANDED, start=60, neighbour="n"), "given 2 calls"),
    "the day team too soon": (lambda plan: left_as(plan, "later", start=599), "before 600"),
    "a cost left out": (
        lambda plan: replace(plan, costs={name: n for name, n in plan.costs.items() if name != "driving"}),
        "The term driving"),
    "a total that does not add up": (lambda plan: replace(plan, cost=plan.cost - 1), "and says"),
    "a bound above the cost": (lambda plan: replace(plan, bound=plan.cost + 1), "lies above"),
}  # fmt: skip


def test_the_good_plan_is_found_good(good: Plan) -> None:
    assert broken_rules(question(), good) == ()
    assert {left.job: left.outcome for left in good.unassigned} == {
        "equine": Outcome.HAND_OVER,
        "later": Outcome.DEFERRED,
    }


@pytest.mark.parametrize("spoiled", SPOILED)
def test_every_way_of_spoiling_it_is_found(good: Plan, spoiled: str) -> None:
    spoil, words = SPOILED[spoiled]
    changed = spoil(good)
    assert changed != good
    found = broken_rules(question(), changed)
    assert any(words in sentence for sentence in found), found


def served(**changes: object) -> Plan:
    """What a lawful plan for one call and one vet looks like."""
    return plan_night(problem([call()], [vet()]), REPEATABLE)


TIGHTER: dict[str, tuple[Job, dict[str, object], str]] = {
    "home limit": (call(), {"home_by": 79}, "1 min after the limit"),
    "stood down": (call(), {"stood_down": "Resting."}, "stood down"),
    "unavailable": (
        call(flags=frozenset({"birth"})),
        {"unavailable_for": frozenset({"birth"})},
        "may not go",
    ),
    "excluded": (call(excluded_vets={"a": "No."}), {}, "may not go"),
    "skill": (call(skills=(frozenset({"equine"}),)), {}, "lacks a skill"),
    "kit": (call(kit=KIT), {}, "without a usable surgical_kit_cattle"),
    "kit not ready": (call(kit=KIT), {"kit": (KitItem("surgical_kit_cattle", 21),)}, "without a usable"),
    "not before": (call(not_before=21), {}, "before being there or being let in"),
    "not free": (call(), {"turnout_min": 1}, "is not free before 1"),
}


@pytest.mark.parametrize("rule", TIGHTER)
def test_a_plan_that_was_lawful_is_refused_when_one_limit_is_tightened(rule: str) -> None:
    job, changes, words = TIGHTER[rule]
    tightened = problem([job], [vet(**changes)])
    assert broken_rules(problem([call()], [vet()]), served()) == ()
    assert any(words in sentence for sentence in broken_rules(tightened, served()))


FOLLOWED = {"vets_needed": 2, "skills": (frozenset({"caesar_cattle"}),), "kit": KIT}
CAR = (KitItem("surgical_kit_cattle"),)


def followed(**changes: Any) -> Problem:
    """A lead with the kit at 20 and a second at 30, who may come up to 10 minutes later."""
    given: dict[str, Any] = {"second_within_min": 10, "lead": {}, "second": {}} | changes
    lead = vet(**({"skills": SURGEON, "kit": CAR} | given["lead"]))
    second = vet("b", "home b", **({"present_job_min": 10} | given["second"]))
    return problem([call(**FOLLOWED, second_within_min=given["second_within_min"])], [lead, second])


def test_a_plan_whose_second_follows_in_time_is_found_good() -> None:
    plan = plan_night(followed(), REPEATABLE)
    assert {name: stop.start for name, stop in plan.stops_of("c1")} == {"a": 20, "b": 30}
    assert broken_rules(followed(), plan) == ()


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"second_within_min": 9}, "do not start together but 10 min apart"),
        ({"lead": {"skills": {}}, "second": {"skills": SURGEON}}, "is there first with the kit"),
        ({"lead": {"skills": {}}}, "can lead it"),
        ({"lead": {"kit": ()}}, "without a usable surgical_kit_cattle"),
    ],
)
def test_a_second_who_follows_too_late_or_a_first_who_cannot_lead_is_found(
    changes: dict[str, Any], words: str
) -> None:
    found = broken_rules(followed(**changes), plan_night(followed(), REPEATABLE))
    assert any(words in sentence for sentence in found), found


def test_a_lead_whose_kit_comes_with_the_second_is_found() -> None:
    plan = with_stop(plan_night(followed(), REPEATABLE), "a", "c1", brings_kit=False)
    assert any("first with the kit" in sentence for sentence in broken_rules(followed(), plan))


def two_farms(soiling: int = 0, *, stand_off: bool = False, **changes: Any) -> Problem:
    """The vet goes to c1 first, which is due first, and then to c2."""
    jobs = [call(soiling=soiling, stand_off=stand_off, arrive_by=20), call("c2", "east", arrive_by=80)]
    return problem(jobs, [vet(**changes)], scarce_skills=frozenset({"caesar_cattle"}))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"stand_off": True}, "goes to job c2 after the stand-off at job c1"),
        ({"soiling": 1}, "The term dirty_to_clean is 500 points and the plan says 0."),
        ({"share": 1}, "The term fairness is 2 points and the plan says 0."),
        ({"skills": SURGEON}, "The term last_with_skill is 3000 points and the plan says 0."),
    ],
)
def test_a_rule_or_a_price_that_the_plan_did_not_know_of_is_found(
    changes: dict[str, Any], words: str
) -> None:
    plan = plan_night(two_farms(), REPEATABLE)
    assert broken_rules(two_farms(), plan) == ()
    assert [stop.job for stop in plan.route_of("a").stops] == ["c1", "c2"]
    assert words in " ".join(broken_rules(two_farms(**changes), plan))


def test_a_promise_made_after_the_plan_is_found_broken() -> None:
    two = [vet(), vet("b", "home b")]
    plan = plan_night(problem([call()], two), REPEATABLE)
    other = {"a": "b", "b": "a"}[plan.stops_of("c1")[0][0]]
    promised = problem([call()], two, commitments=(Commitment("c1", other, Stage.ACCEPTED),))
    assert any("accepted" in sentence for sentence in broken_rules(promised, plan))
