"""Calls through the API: taken, listed, moved on and ended; another practice's are not there."""

from datetime import timedelta
from typing import Any

import pytest

from cases.models import Call, CallState
from rotas.models import AuditLine
from tests.api.conftest import People, assert_problem
from tests.api.world import World
from tests.factories import NOW, a_neighbour


def said(world: World, **values: Any) -> dict[str, Any]:
    return {
        "complaint": "dystocia_cattle",
        "species": "cattle",
        "answers": {"wrong_way": "yes", "pulled_min": 12},
        "location": world.farm.pk,
        "caller_name": "Young farmer",
        "details": "second calver",
        **values,
    }


def test_call_is_taken_and_assessed_at_once(ours: World, us: People) -> None:
    answer = us.desk.post("calls", said(ours))
    assert answer.status_code == 201, answer.content
    call = answer.json()
    assert (call["number"], call["state"], call["urgency"]) == (1, "waiting", "immediate")
    assert call["location"]["hazards"] == "loose bull"
    assert call["called_at"] == "2026-03-14T21:00:00Z"
    assert call["arrive_by"] > call["called_at"]
    assert call["reasons"]
    row = Call.objects.get()
    assert (row.taken_by, row.answers) == (ours.desk, {"wrong_way": "yes", "pulled_min": 12})
    assert AuditLine.objects.get(verb="call_taken").actor == ours.desk


def test_farm_that_rang_about_the_same_is_told_which_call(ours: World, us: People) -> None:
    first = us.desk.post("calls", said(ours)).json()
    problem = assert_problem(us.desk.post("calls", said(ours)), 409, "duplicate_call")
    assert problem["facts"]["call"] == first["id"]
    assert Call.objects.count() == 1
    assert us.desk.post("calls", said(ours, in_spite_of_duplicate=True)).status_code == 201


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"complaint": "no_such"}, "complaint"),
        ({"species": "dragon"}, "species"),
        ({"affected": 0}, "affected"),
        ({"answers": {"wrong_way": "perhaps"}}, "answers/wrong_way"),
        ({"answers": {"x": 1}}, "answers/x"),
        ({"answers": {"wrong_way": ["yes"]}}, "answers"),
        ({"answers": []}, "answers"),
        ({"called_at": "2026-03-14T22:00:00Z"}, "called_at"),
        ({"called_at": "2026-03-10T22:00:00Z"}, "called_at"),
        ({"onset_at": "2026-03-14T23:00:00Z"}, "onset_at"),
        ({"caller_phone": "twelve"}, "caller_phone"),
        ({"vets_needed": 3}, "vets_needed"),
    ],
)
def test_call_that_cannot_be_meant_is_refused_at_its_place(
    ours: World, us: People, wrong: dict[str, Any], field: str
) -> None:
    answer = us.desk.post("calls", said(ours, **wrong))
    assert answer.status_code == 400
    assert [error["pointer"] for error in answer.json()["errors"]] == [f"#/{field}"]
    assert not Call.objects.exists()


def test_another_practices_farm_is_not_there(ours: World, us: People, theirs: World) -> None:
    assert_problem(us.desk.post("calls", said(ours, location=theirs.farm.pk)), 404, "not_found")
    assert_problem(us.desk.post("calls", said(ours, client=theirs.client.pk)), 404, "not_found")
    assert not Call.objects.exists()


def test_list_holds_own_open_calls_longest_waiting_first(ours: World, us: People, theirs: World) -> None:
    theirs.call()
    second, first = ours.call(), ours.call(called_at=NOW - timedelta(minutes=20))
    ended = ours.call()
    us.desk.post(f"calls/{ended.pk}/cancel", {"reason": "stood up by itself"})
    listed = us.desk.get("calls").json()
    assert [call["id"] for call in listed["results"]] == [first.pk, second.pk]
    assert us.desk.get("calls", state="all").json()["count"] == 3
    page = us.desk.get("calls", page_size=1).json()
    assert (page["count"], len(page["results"])) == (2, 1)
    assert page["next"].endswith("page=2&page_size=1")


def test_call_is_left_for_later_and_waits_again(ours: World, us: People) -> None:
    call = ours.call(complaint="lame_cattle", answers={})
    until = NOW + timedelta(hours=10)
    body = {"until": until.isoformat(), "reason": "walks on it", "agreed_by_vet": ours.vet.pk}
    deferred = us.desk.post(f"calls/{call.pk}/defer", body)
    assert (deferred.status_code, deferred.json()["state"]) == (200, "deferred")
    assert deferred.json()["not_before"] == "2026-03-15T07:00:00Z"
    assert us.desk.post(f"calls/{call.pk}/resume", {}).json()["state"] == "waiting"


def test_call_is_not_left_past_its_time_without_a_vets_name(ours: World, us: People) -> None:
    call = ours.call()
    body = {"until": (NOW + timedelta(hours=10)).isoformat(), "reason": "busy"}
    assert_problem(us.desk.post(f"calls/{call.pk}/defer", body), 409, "needs_vets_word")
    call.refresh_from_db()
    assert call.state == CallState.WAITING


def test_call_is_handed_over_to_somebody_by_name(ours: World, us: People) -> None:
    call, neighbour = ours.call(), a_neighbour(ours.practice)
    body = {"neighbour_id": neighbour.pk, "told": "nothing given yet"}
    refused = assert_problem(us.desk.post(f"calls/{call.pk}/hand-over", body), 400, "bad_input")
    assert refused["errors"][0]["pointer"] == "#/accepted_by"
    answer = us.desk.post(f"calls/{call.pk}/hand-over", {**body, "accepted_by": "Dr Rowan"}).json()
    assert (answer["state"], answer["handed_over_to"]) == ("handed_over", f"Dr Rowan, {neighbour.name}")


def test_advice_ends_a_call_and_counts_as_duty(ours: World, us: People) -> None:
    call = ours.call()
    body = {"vet": ours.vet.pk, "minutes": 9, "outcome": "calved while we spoke"}
    answer = us.desk.post(f"calls/{call.pk}/advise", body).json()
    assert (answer["state"], answer["outcome"]) == ("advised", "calved while we spoke")
    assert ours.vet.duty_records.get().kind == "phone_advice"


def test_ended_call_cannot_be_ended_again(ours: World, us: People) -> None:
    call = ours.call()
    assert us.desk.post(f"calls/{call.pk}/cancel", {"reason": "dead"}).json()["state"] == "cancelled"
    problem = assert_problem(us.desk.post(f"calls/{call.pk}/cancel", {"reason": "dead"}), 409, "call_closed")
    assert problem["facts"]["number"] == call.number


def test_new_answers_are_assessed_and_a_lower_class_needs_a_vet(ours: World, us: People) -> None:
    call = ours.call(answers={})
    body = {"lower_to": "urgent", "reason": "quiet"}
    assert_problem(us.desk.post(f"calls/{call.pk}/reassess", body), 409, "needs_vets_word")
    answer = us.desk.post(f"calls/{call.pk}/reassess", {"answers": {"pulled_min": 3}}).json()
    assert answer["answers"] == {"pulled_min": 3}


def test_farm_may_be_said_later(ours: World, us: People) -> None:
    call = ours.call(location_id=None)
    answer = us.desk.post(f"calls/{call.pk}/farm", {"location": ours.farm.pk}).json()
    assert answer["location"]["id"] == ours.farm.pk


def test_one_call_tells_its_offers_and_its_story(ours: World, us: People) -> None:
    visit = ours.visit()
    ours.report(visit, "set_out")
    call = us.vet.get(f"calls/{visit.call_id}").json()
    assert [offer["state"] for offer in call["offers"]] == ["accepted"]
    assert call["visits"] == [
        {"id": visit.pk, "vet": ours.vet.pk, "vet_name": "Vet of Ours", "place": 1, "state": "set_out"}
    ]
    verbs = [line["verb"] for line in call["story"]]
    assert verbs[0] == "call_taken"
    assert {"offer_accepted", "visit_accepted", "visit_set_out"} <= set(verbs)
    assert call["verdicts"] == []  # no plan has been made


def test_reception_assigns_by_hand_with_a_reason(ours: World, us: People) -> None:
    call = ours.call()
    refused = us.desk.post(f"calls/{call.pk}/assign", {"vet": ours.vet.pk, "reason": " "})
    assert refused.status_code == 400
    answer = us.desk.post(f"calls/{call.pk}/assign", {"vet": ours.vet.pk, "reason": "knows the farm"})
    assert answer.status_code == 200, answer.content
    assert answer.json()["vet"] == ours.vet.pk
    assert AuditLine.objects.get(verb="assigned_by_hand").reason == "knows the farm"


def test_passed_rest_limit_is_told_and_needs_a_managers_name(ours: World, us: People) -> None:
    call = ours.call()
    us.vet.post("me/report", {"state": "not_safe"})
    body = {"vet": ours.vet.pk, "reason": "nobody else"}
    problem = assert_problem(us.desk.post(f"calls/{call.pk}/assign", body), 409, "rest_limit_passed")
    assert problem["facts"]["minutes"] >= 1
    assert problem["facts"]["needs"] == ["approved_by", "approval_reason"]
    signed = {"approved_by": ours.desk.pk, "approval_reason": "cow dying, vet says fit"}
    assert_problem(us.desk.post(f"calls/{call.pk}/assign", body | signed), 403, "not_allowed")
    signed["approved_by"] = ours.manager.pk
    assert us.desk.post(f"calls/{call.pk}/assign", body | signed).status_code == 200
    exception = ours.vet.rest_exceptions.get()
    assert (exception.approved_by, exception.reason) == (ours.manager, "cow dying, vet says fit")
    assert exception.owed.exists()


STEPS: list[tuple[str, dict[str, Any]]] = [
    ("defer", {"until": (NOW + timedelta(minutes=5)).isoformat(), "reason": "x"}),
    ("resume", {}),
    ("hand-over", {"neighbour": "x", "accepted_by": "y"}),
    ("advise", {"vet": 1, "minutes": 1, "outcome": "x"}),
    ("cancel", {"reason": "x"}),
    ("reassess", {}),
    ("farm", {"location": 1}),
    ("assign", {"vet": 1, "reason": "x"}),
]


@pytest.mark.parametrize(("step", "body"), STEPS)
def test_another_practices_call_is_not_there(
    ours: World, us: People, theirs: World, step: str, body: dict[str, Any]
) -> None:
    call = theirs.call()
    mine = {"vet": ours.vet.pk, "location": ours.farm.pk}
    sent = {name: mine.get(name, value) for name, value in body.items()}
    assert_problem(us.manager.post(f"calls/{call.pk}/{step}", sent), 404, "not_found")
    assert_problem(us.desk.get(f"calls/{call.pk}"), 404, "not_found")
    before = call.state
    call.refresh_from_db()
    assert call.state == before


def test_vet_may_not_assign(ours: World, us: People) -> None:
    call = ours.call()
    body = {"vet": ours.vet.pk, "reason": "I want it"}
    assert_problem(us.vet.post(f"calls/{call.pk}/assign", body), 403, "not_allowed")
    assert not call.visits.exists()
