"""Problems and plans survive being written as JSON, whole."""

import json
from datetime import UTC, datetime

import pytest

from dispatch.plan_json import NotReadable, from_json, to_json
from dispatch.planner.parameters import Urgency
from dispatch.planner.plan import Outcome, Plan, Ranked, Refusal, Route, Status, Stop, Unassigned, Verdict
from dispatch.planner.problem import (
    Commitment,
    Job,
    Kind,
    KitItem,
    KitStore,
    Level,
    Neighbour,
    Problem,
    Role,
    Stage,
    Vet,
    Window,
)

PROBLEM = Problem(
    epoch=datetime(2026, 3, 14, 21, 0, tzinfo=UTC),
    zone="Europe/London",
    places=("base", "farm:1", "neighbour:1"),
    travel_min=((0, 10, 20), (11, 0, 20), (20, 20, 0)),
    jobs=(
        Job(
            "call:1",
            "Calving at Ärla",
            "farm:1",
            Kind.CALL,
            Urgency.IMMEDIATE,
            60,
            150,
            waiting_since=-5,
            arrive_by=40,
            worse_at=90,
            skills=(frozenset({"calving", "lambing"}), frozenset({"epidural"})),
            preferred=frozenset({"ultrasound"}),
            kit=frozenset({"a", "b"}),
            kit_used=frozenset({"b"}),
            vets_needed=2,
            excluded_vets={"vet:2": "Brockley said no."},
            flags=frozenset({"kick_crush"}),
        ),
        Job(
            "booked:1",
            "Test",
            "farm:1",
            Kind.BOOKED,
            Urgency.BOOKED,
            30,
            40,
            window=Window(600, 720),
            fixed_vet="vet:1",
        ),
    ),
    vets=(
        Vet(
            "vet:1",
            "Anand",
            Role.FIRST,
            "base",
            "base",
            home_by=300,
            skills={"calving": Level.SOLO},
            kit=(KitItem("a"), KitItem("b", 30)),
            awake_cost=((0, 1), (60, 2)),
        ),
        Vet("vet:2", "Brockley", Role.SECOND, "farm:1", "base"),
    ),
    commitments=(Commitment("call:1", "vet:2", Stage.UNDER_WAY, eta_min=0, signed=True),),
    stores=(KitStore("base", "a", 2, 15),),
    neighbours=(Neighbour("neighbour:1", "North", "neighbour:1", skills=None),),
    phone_support={"calving": "Anand"},
)
PLAN = Plan(
    Status.FEASIBLE,
    "A plan.",
    routes=(
        Route("vet:1", (Stop("call:1", 0, 10, 10, 98, 10, fetch=(("base", "a"),)),), 110, 12, 22, ("late",)),
    ),
    unassigned=(Unassigned("booked:1", Outcome.CANNOT_BE_MET, "Nobody.", reasons=("no kit",)),),
    ranking=(Ranked("call:1", 1, 30, 900, True, 30, "first"),),
    verdicts=(Verdict("call:1", "vet:2", False, False, "no", refusals=(Refusal("kit", "No kit.", None),)),),
    costs={"driving": 200},
    cost=200,
    bound=100,
    solve_seconds=0.25,
)


@pytest.mark.parametrize("value", [PROBLEM, PLAN], ids=["problem", "plan"])
def test_written_and_read_back_is_the_same(value):
    text = json.dumps(to_json(value))
    again = from_json(type(value), json.loads(text))
    assert again == value
    assert json.dumps(to_json(again)) == text


ADDED_LATER = {"second_within_min", "stand_off", "soiling", "share", "scarce_skills", "dirty_to_clean",
               "last_with_skill", "fairness"}  # fmt: skip


def without(kept, names):
    if isinstance(kept, dict):
        return {name: without(value, names) for name, value in kept.items() if name not in names}
    return [without(each, names) for each in kept] if isinstance(kept, list) else kept


def test_problem_kept_before_rules_were_added_is_read_as_if_they_asked_nothing():
    written = to_json(PROBLEM)
    assert json.dumps(written) != json.dumps(without(written, ADDED_LATER))
    assert from_json(Problem, without(written, ADDED_LATER)) == PROBLEM


def test_same_problem_is_written_the_same_whatever_the_order_of_its_sets():
    kit = to_json(PROBLEM)["jobs"][0]["kit"]
    assert kit == sorted(kit)


@pytest.mark.parametrize(
    "kept",
    [{}, {"epoch": "noon"}, [], None, {**to_json(PROBLEM), "moon": 1}, {**to_json(PROBLEM), "jobs": [3]}],
)
def test_json_of_another_version_is_refused_by_name(kept):
    with pytest.raises(NotReadable, match="Problem"):
        from_json(Problem, kept)


def test_problem_that_contradicts_itself_is_refused_when_read():
    kept = to_json(PROBLEM) | {"places": ["base"]}
    with pytest.raises(NotReadable):
        from_json(Problem, kept)
