"""Rotas, swaps, leave, wishes and repairs through the API: who may what, and the whole way of each."""

from datetime import datetime, time
from typing import Any

import pytest

from rotas.models import Rota, Shift, VetSkill
from rotas.services.rotas import build_draft
from tests.api.conftest import Caller, People, assert_problem
from tests.api.rota_examples import (
    FIRST,
    LAST,
    NIGHT,
    ROTA_GOOD,
    a_draft,
    a_repair,
    a_rule,
    a_second,
    a_swap,
    a_wish,
    some_leave,
)
from tests.api.world import World
from tests.factories import NOW, a_manager, a_practice, a_shift, a_vet

# who may send each write that is another's in the examples
REFUSED = {
    "draft_rota": ("desk", "vet"),
    "build_rota": ("desk", "vet"),
    "publish_rota": ("desk", "vet"),
    "withdraw_rota": ("desk", "vet"),
    "move_duty": ("desk", "vet"),
    "ask_swap": ("desk", "manager"),
    "accept_swap": ("desk", "manager"),
    "refuse_swap": ("desk", "manager"),
    "withdraw_swap": ("desk", "manager"),
    "veto_swap": ("desk", "vet"),
    "approve_swap": ("desk", "vet"),
    "ask_leave": ("desk",),
    "approve_leave": ("desk", "vet"),
    "refuse_leave": ("desk", "vet"),
    "withdraw_leave": ("desk",),
    "make_wish": ("desk",),
    "withdraw_wish": ("desk",),
    "propose_repair": ("vet",),
    "accept_repair": ("vet",),
    "add_cover": ("desk", "vet"),
    "end_cover": ("desk", "vet"),
    "set_rota_terms": ("desk", "vet"),
    "keep_off": ("desk", "vet"),
    "end_keep_off": ("desk", "vet"),
    "name_second": ("desk", "vet"),
    "end_named_second": ("desk", "vet"),
}


def test_every_write_has_its_line_in_the_matrix() -> None:
    assert set(REFUSED) == set(ROTA_GOOD)


@pytest.mark.parametrize("operation", sorted(REFUSED))
def test_who_does_not_hold_the_role_is_refused(ours: World, us: People, operation: str) -> None:
    path, body, _ = ROTA_GOOD[operation](ours)
    for who in REFUSED[operation]:
        assert_problem(getattr(us, who).post(path, body), 403, "not_allowed")
    assert_problem(Caller().post(path, body), 401, "not_signed_in")


@pytest.mark.parametrize(
    ("path", "refused"),
    [
        ("rotas", ()),
        ("swaps", ("desk",)),
        ("leave", ("desk",)),
        ("wishes", ("desk",)),
        ("repairs", ("vet",)),
        ("cover", ("desk", "vet")),
        ("alerts", ("desk", "vet")),
    ],
)
def test_who_may_read(ours: World, us: People, path: str, refused: tuple[str, ...]) -> None:
    assert_problem(Caller().get(path), 401, "not_signed_in")
    for who in ("desk", "vet", "manager"):
        answer = getattr(us, who).get(path)
        if who in refused:
            assert_problem(answer, 403, "not_allowed")
        else:
            assert answer.status_code == 200


def test_terms_are_read_by_the_vet_and_the_managers_alone(ours: World, us: People) -> None:
    rule, second = a_rule(ours), a_second(ours)
    path = f"vets/{ours.vet.pk}/rota-terms"
    for who in (us.vet, us.manager):
        shown = who.get(path).json()
        assert (shown["vet"], shown["contract_share"], shown["rota_roles"][0]) == (ours.vet.pk, 1.0, "first")
        assert [(each["id"], each["weekday"], each["role"]) for each in shown["keep_offs"]] == [
            (rule, 1, "first")
        ]
        assert [each["id"] for each in shown["named_seconds"]] == [second]
    stranger = Caller(a_vet(ours.practice).member)
    assert_problem(stranger.get(path), 403, "not_allowed")
    assert_problem(us.desk.get(path), 403, "not_allowed")
    assert_problem(Caller(a_manager(a_practice(name="Far away"))).get(path), 404, "not_found")


@pytest.mark.parametrize("share", [0, -0.1, 1.01, 0.605, "0.6", None])
def test_a_contract_share_that_cannot_be_is_refused(ours: World, us: People, share: Any) -> None:
    body = {"contract_share": share, "rota_roles": ["first"]}
    assert us.manager.post(f"vets/{ours.vet.pk}/rota-terms", body).status_code == 400
    ours.vet.refresh_from_db()
    assert ours.vet.contract_share == 1


def test_draft_is_the_managers_and_a_published_rota_everybodys(ours: World, us: People) -> None:
    draft = a_draft(ours)
    for who in (us.desk, us.vet):
        assert who.get("rotas").json()["count"] == 0
        assert_problem(who.get(f"rotas/{draft.pk}"), 404, "not_found")
        assert_problem(who.get(f"rotas/{draft.pk}/duties"), 404, "not_found")
        assert_problem(who.get(f"rotas/{draft.pk}/broken"), 403, "not_allowed")
    assert us.manager.get("rotas", state="draft").json()["count"] == 1
    us.manager.post(f"rotas/{draft.pk}/publish", {"with_gaps": True})
    for who in (us.desk, us.vet):
        assert who.get("rotas").json()["results"][0]["state"] == "published"
        assert who.get(f"rotas/{draft.pk}/duties").json()["count"] == draft.duties.count()


def test_approved_leave_names_the_duties_that_still_stand_against_it(ours: World, us: People) -> None:
    leave = some_leave(ours)
    start = datetime.combine(FIRST, time(18), tzinfo=ours.practice.tz)
    shift = a_shift(ours.vet, start, hours=14)
    path = f"leave/{leave.pk}/approve"
    assert_problem(us.manager.post(path, {}), 409, "leave_conflicts")
    approved = us.manager.post(path, {"in_spite_of_conflicts": True}).json()
    assert (approved["id"], approved["state"]) == (leave.pk, "approved")
    (standing,) = approved["standing"]
    assert (standing["shift"], standing["role"]) == (shift.pk, "first")
    assert standing["sentence"] == "first on call Mon 1 Jun 18:00 to Tue 2 Jun 08:00"
    assert datetime.fromisoformat(standing["starts_at"]) == start
    shift.refresh_from_db()
    assert shift.ended_at is None


def test_swaps_leave_and_wishes_of_others_are_not_shown_to_a_vet(ours: World, us: People) -> None:
    a_swap(ours)
    leave = some_leave(ours)
    a_wish(ours)
    stranger = Caller(a_vet(ours.practice).member)
    for path in ("swaps", "leave", "wishes"):
        assert stranger.get(path).json()["count"] == 0
        assert us.vet.get(path).json()["count"] == 1
        assert us.manager.get(path).json()["count"] == 1
    assert_problem(stranger.get(f"leave/{leave.pk}/conflicts"), 404, "not_found")
    assert us.vet.get(f"leave/{leave.pk}/conflicts").json() == {"conflicts": []}
    VetSkill.objects.exclude(vet=ours.vet).update(level="with_second_present")
    (conflict,) = us.manager.get(f"leave/{leave.pk}/conflicts").json()["conflicts"]
    assert conflict == "Nobody else could see to a caesarean alone between Mon 1 Jun and Tue 2 Jun."
    body = {"first_day": FIRST.isoformat(), "last_day": LAST.isoformat(), "vet": ours.vet.pk}
    assert_problem(stranger.post("leave", body), 403, "not_allowed")


def test_from_draft_to_rota(ours: World, us: People) -> None:
    made = us.manager.post("rotas", {"first_day": FIRST.isoformat(), "last_day": LAST.isoformat()}).json()
    assert (made["state"], made["duties"], made["unfilled"]) == ("draft", 8, 8)
    asked = us.manager.post(f"rotas/{made['id']}/build", {"seconds": 1}).json()
    assert asked["build_state"] == "asked"
    build_draft(rota=Rota.objects.get(), seconds=1, actor=ours.manager, now=NOW)
    built = us.manager.get(f"rotas/{made['id']}").json()
    assert (built["build_state"], bool(built["sentence"])) == ("done", True)
    duties = us.manager.get(f"rotas/{made['id']}/duties").json()["results"]
    gap = next(duty for duty in duties if duty["vet"] is None)
    assert gap["gap_reason"]
    filled = [duty for duty in duties if duty["vet"] == ours.vet.pk]
    assert filled  # the one vet there is
    moved = us.manager.post(f"draft-duties/{filled[0]['id']}/move", {"vet": None}).json()
    assert moved["duty"]["vet"] is None
    assert isinstance(moved["broken"], list)
    refused = us.manager.post(f"rotas/{made['id']}/publish", {})
    assert assert_problem(refused, 409, "gaps_left")["facts"]["gaps"]
    assert us.manager.post(f"rotas/{made['id']}/publish", {"with_gaps": True}).status_code == 200
    assert us.manager.get(f"rotas/{made['id']}/broken").json()["count"] > 0
    assert_problem(us.manager.post(f"rotas/{made['id']}/build", {}), 409, "not_a_draft")
    assert us.manager.post(f"rotas/{made['id']}/withdraw", {}).json()["state"] == "withdrawn"


def test_rota_that_breaks_a_rule_is_refused_with_every_sentence(ours: World, us: People) -> None:
    draft = a_draft(ours)
    for duty in draft.duties.in_order():
        us.manager.post(f"draft-duties/{duty.pk}/move", {"vet": ours.vet.pk})
    problem = assert_problem(
        us.manager.post(f"rotas/{draft.pk}/publish", {"with_gaps": True}), 409, "rules_broken"
    )
    assert problem["facts"]["count"] == len(problem["facts"]["broken"]) > 0
    rules = us.manager.get(f"rotas/{draft.pk}/broken").json()["results"]
    assert "one_at_a_time" in {each["rule"] for each in rules}
    assert {each["vet"] for each in rules} <= {ours.vet.pk, None}
    assert Shift.objects.filter(period__startswith__gt=NOW).count() == 0


def test_swap_from_asking_to_done(ours: World, us: People) -> None:
    swap = a_swap(ours)
    other = Caller(swap.from_vet.member)
    shown = us.vet.get("swaps").json()["results"][0]
    assert (shown["state"], shown["to_vet"]) == ("asked", ours.vet.pk)
    assert [each["on_call_min"] for each in shown["changes"]] == [0, 0]
    accepted = us.vet.post(f"swaps/{swap.pk}/accept", {}).json()
    assert (accepted["state"], accepted["needs_approval"]) == ("accepted", False)
    assert_problem(other.post(f"swaps/{swap.pk}/approve", {}), 403, "not_allowed")
    assert us.manager.post(f"swaps/{swap.pk}/approve", {}).json()["state"] == "approved"
    assert_problem(us.manager.post(f"swaps/{swap.pk}/veto", {}), 409, "already_done")
    assert us.vet.get("swaps").json()["count"] == 0
    assert us.vet.get("swaps", state="all").json()["count"] == 1


def test_repair_proposes_and_is_accepted(ours: World, us: People) -> None:
    repair = a_repair(ours)
    shown = us.desk.get("repairs").json()["results"][0]
    assert (shown["state"], shown["vet"]) == ("proposed", ours.vet.pk)
    done = us.desk.post(f"repairs/{repair.pk}/accept", {}).json()
    assert done["state"] == "accepted"
    assert us.desk.post(f"repairs/{repair.pk}/accept", {}).json() == done
    again: dict[str, Any] = {"vet": ours.vet.pk, "start": NIGHT.isoformat(), "end": NIGHT.isoformat()}
    assert_problem(us.desk.post("repairs", again), 400, "bad_input")


def test_alerts_are_listed_for_the_manager(ours: World, us: People, theirs: World) -> None:
    for world in (ours, theirs):
        owed = world.owed()
        owed.due_by = NOW
        owed.save()
    told = us.manager.get("alerts").json()["results"]
    assert [(row["kind"], row["vet"]) for row in told] == [("rest_owed", ours.vet.pk)]


def test_season_of_cover_goes_in_and_out(ours: World, us: People) -> None:
    path, body, _ = ROTA_GOOD["add_cover"](ours)
    made = us.manager.post(path, body).json()
    assert (made["from_month"], made["from_day"], made["until_month"], made["until_day"]) == (2, 15, 5, 15)
    assert (made["starts"], made["weekdays"], made["bank_holiday"]) == ("08:00", [0, 1], False)
    wrong = body | {"season": {"from_month": 2, "from_day": 30, "until_month": 5, "until_day": 15}}
    assert_problem(us.manager.post(path, wrong), 400, "bad_input")
    assert us.manager.get("cover").json()["count"] == 1
    us.manager.post(f"cover/{made['id']}/end", {})
    assert us.manager.get("cover").json()["count"] == 0
