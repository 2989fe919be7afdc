"""Offers through the API: one acceptance wins, a late one is told what holds, a no is not argued with."""

from datetime import timedelta
from typing import Any

import pytest
import time_machine

from cases.models import Visit
from dispatch.models import Offer
from rotas.models import AuditLine
from tests.api.conftest import Caller, People, assert_problem
from tests.api.world import World
from tests.factories import NOW, a_vet


def test_offer_is_put_read_and_accepted(ours: World, us: People) -> None:
    call = ours.call()
    put = us.desk.post("offers", {"call": call.pk, "vet": ours.vet.pk})
    assert put.status_code == 201, put.content
    mine = us.vet.get("offers", state="open").json()["results"]
    assert [offer["id"] for offer in mine] == [put.json()["id"]]
    assert (mine[0]["call"]["number"], mine[0]["location"]["access"]) == (call.number, "second gate")
    assert mine[0]["why"]
    accepted = us.vet.post(f"offers/{mine[0]['id']}/accept", {})
    assert accepted.status_code == 200, accepted.content
    assert (accepted.json()["vet"], accepted.json()["state"]) == (ours.vet.pk, "accepted")
    assert us.vet.get("offers", state="open").json()["count"] == 0


def test_accepting_again_with_another_key_is_the_same_visit(ours: World, us: People) -> None:
    offer = ours.offer()
    first = us.vet.post(f"offers/{offer.pk}/accept", {}).json()
    assert us.vet.post(f"offers/{offer.pk}/accept", {}).json()["id"] == first["id"]
    assert Visit.objects.count() == 1


def test_late_acceptance_never_takes_the_call_and_is_told_and_kept(ours: World, us: People) -> None:
    call, other = ours.call(), ours.another_vet(name="Quicker vet")
    offer = ours.offer(call)
    us.desk.post(f"calls/{call.pk}/assign", {"vet": other.pk, "reason": "nearer"})
    early = (NOW - timedelta(minutes=1)).isoformat()
    refused = us.vet.post(f"offers/{offer.pk}/accept", {"happened_at": early}, key="one-acceptance")
    problem = assert_problem(refused, 409, "place_taken")
    assert "Quicker vet" in problem["detail"]
    assert Visit.objects.get().vet == other
    line = AuditLine.objects.get(verb="acceptance_refused")
    assert (line.actor, line.reason) == (ours.vet.member, problem["detail"])
    again = us.vet.post(f"offers/{offer.pk}/accept", {"happened_at": early}, key="one-acceptance")
    assert_problem(again, 409, "place_taken")


def test_lapsed_offer_cannot_be_accepted(ours: World, us: People) -> None:
    offer = ours.offer()
    with time_machine.travel(offer.lapses_at, tick=False):
        assert_problem(us.vet.post(f"offers/{offer.pk}/accept", {}), 409, "offer_over")
    with time_machine.travel(offer.lapses_at - timedelta(seconds=1), tick=False):
        assert us.vet.post(f"offers/{offer.pk}/accept", {}).status_code == 200


def test_acceptance_from_the_future_is_refused(ours: World, us: People) -> None:
    offer = ours.offer()
    body = {"happened_at": (NOW + timedelta(hours=1)).isoformat()}
    assert_problem(us.vet.post(f"offers/{offer.pk}/accept", body), 400, "from_the_future")
    assert not Visit.objects.exists()


def test_only_the_asked_vet_or_reception_answers(ours: World, us: People) -> None:
    offer = ours.offer()
    other = Caller(ours.another_vet().member)
    assert_problem(other.post(f"offers/{offer.pk}/accept", {}), 403, "not_your_offer")
    assert_problem(other.post(f"offers/{offer.pk}/decline", {"reason": "too_far"}), 403, "not_your_offer")
    assert us.desk.post(f"offers/{offer.pk}/accept", {}).status_code == 200


def test_too_tired_stands_the_vet_down_and_nobody_asks(ours: World, us: People) -> None:
    offer = ours.offer()
    shown = us.vet.post(f"offers/{offer.pk}/decline", {"reason": "too_tired"})
    assert (shown.status_code, shown.json()["state"]) == (200, "declined")
    ours.vet.refresh_from_db()
    assert ours.vet.is_stood_down(NOW)
    body = {"call": offer.call_id, "vet": ours.vet.pk}
    assert_problem(us.desk.post("offers", body), 409, "stood_down")


@pytest.mark.parametrize("reason", ["", "lazy", None, 1])
def test_decline_needs_one_of_the_reasons(ours: World, us: People, reason: Any) -> None:
    offer = ours.offer()
    assert_problem(us.vet.post(f"offers/{offer.pk}/decline", {"reason": reason}), 400, "bad_input")
    offer.refresh_from_db()
    assert offer.state == "open"


def test_offer_is_taken_back_with_a_reason(ours: World, us: People) -> None:
    offer = ours.offer()
    assert us.desk.post(f"offers/{offer.pk}/withdraw", {"reason": "rang off"}).json()["state"] == "withdrawn"
    assert_problem(us.vet.post(f"offers/{offer.pk}/accept", {}), 409, "offer_over")


def test_place_is_on_offer_once(ours: World, us: People) -> None:
    offer = ours.offer()
    body = {"call": offer.call_id, "vet": ours.another_vet().pk}
    assert_problem(us.desk.post("offers", body), 409, "on_offer")
    assert Offer.objects.count() == 1


def test_vet_whom_a_rule_keeps_away_is_refused_with_the_rule(ours: World, us: People) -> None:
    off_duty = a_vet(ours.practice, "calving")
    body = {"call": ours.call().pk, "vet": off_duty.pk}
    problem = assert_problem(us.desk.post("offers", body), 409, "cannot_go")
    assert problem["facts"]["rules"]
    assert not Offer.objects.exists()


def test_another_practices_offers_are_not_there(ours: World, theirs: World, us: People) -> None:
    offer = theirs.offer()
    for step, body in (("accept", {}), ("decline", {"reason": "too_far"}), ("withdraw", {"reason": "x"})):
        assert_problem(us.desk.post(f"offers/{offer.pk}/{step}", body), 404, "not_found")
    assert_problem(us.desk.post("offers", {"call": offer.call_id, "vet": ours.vet.pk}), 404, "not_found")
    body = {"call": ours.call().pk, "vet": theirs.vet.pk}
    assert_problem(us.desk.post("offers", body), 404, "not_found")
    offer.refresh_from_db()
    assert offer.state == "open"
    assert us.desk.get("offers", whose="all").json()["count"] == 0


def test_reception_lists_everybodys_offers_and_a_vet_their_own(ours: World, us: People) -> None:
    offer, other = ours.offer(), ours.offer(vet=ours.another_vet())
    assert [row["id"] for row in us.vet.get("offers").json()["results"]] == [offer.pk]
    everybody = us.desk.get("offers", whose="all").json()["results"]
    assert {row["id"] for row in everybody} == {offer.pk, other.pk}
    assert_problem(us.vet.get("offers", whose="all"), 403, "not_allowed")
