"""The demo as it stands once it is loaded, and what a second load makes of it. One load serves all."""

from collections import Counter
from collections.abc import Iterator
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.apps import apps
from django.db import connection, transaction

from cases.models import (
    BookedState,
    BookedVisit,
    Call,
    CallState,
    LabelPeriod,
    Location,
    Reminder,
    VisitState,
)
from dispatch.demo.load.demo import STANDS_STILL, Loaded, load
from dispatch.demo.scenario.read import read_scenario
from dispatch.demo.sign_ins import SIGN_INS
from dispatch.models import Offer, OfferState
from dispatch.services.assigning import take_booked
from dispatch.services.offers import accept_offer
from rotas.models import (
    AuditLine,
    CoverNeed,
    Kit,
    KitState,
    Member,
    OutboxMessage,
    Practice,
    TirednessReport,
    Vet,
)
from rotas.services.rotas import draft_rota
from tests.dispatch.demo.boards import assert_desk_is_alive, planned, states
from tests.running.broker import forget_keys
from tests.running.undone import undone

NOW = datetime.fromisoformat("2026-04-24T20:40:00Z")


@pytest.fixture(scope="module", autouse=True)
def loaded(django_db_setup: None, django_db_blocker: Any) -> Iterator[Loaded]:
    """Load once for the module, and undo it after the last test."""
    with django_db_blocker.unblock(), transaction.atomic():
        loaded = load(NOW)
        connection.check_constraints()
        yield loaded
        transaction.set_rollback(True)


@pytest.fixture(autouse=True)
def _undone(loaded: Loaded) -> Iterator[None]:
    """Undo what a test writes, once the checks that wait for a commit have looked at it."""
    forget_keys()
    with undone():
        yield


def rows() -> dict[str, int]:
    """Count the rows of every table of the three floors."""
    models = [
        model for app in ("rotas", "cases", "dispatch") for model in apps.get_app_config(app).get_models()
    ]
    return {model.__name__: model._default_manager.count() for model in models}


def test_desk_is_alive_on_an_evening(loaded: Loaded) -> None:
    assert_desk_is_alive(loaded, NOW)


def test_second_run_changes_nothing() -> None:
    before = rows()
    assert before["Practice"] == 1
    assert before["Location"] == 60
    assert before["Vet"] == 9
    assert load(NOW + timedelta(minutes=5)).calls == 0
    assert rows() == before


STORY = {
    "practice_loaded", "call_taken", "call_advised", "call_deferred", "call_handed_over", "call_served",
    "offer_made", "offer_accepted", "visit_set_out", "visit_on_farm", "visit_estimate", "visit_finished",
    "visit_home", "treatment_recorded", "rechecks_started", "duty_recorded", "shift_added", "visit_booked",
    "recheck_tried",
    "demo_evening_laid",
}  # fmt: skip


def test_calls_have_real_stories_and_aftercare() -> None:
    served = Call.objects.get(complaint="milk_fever")
    assert served.state == CallState.SERVED
    assert Reminder.objects.filter(location=served.location).exists()
    assert set(AuditLine.objects.values_list("verb", flat=True)) >= STORY


def test_only_the_mails_of_open_offers_wait_to_go_out() -> None:
    waiting = OutboxMessage.objects.filter(key__startswith="offer:", state="waiting")
    assert [message.recipient_name for message in waiting] == ["Anand Quillbrook"]
    assert OutboxMessage.objects.filter(key__startswith="offer:", state="withdrawn").exists()


def test_everybody_on_the_list_can_sign_in_and_nobody_else() -> None:
    for role, username, password, _ in SIGN_INS:
        member = Member.objects.get(username=username)
        assert member.check_password(password)
        assert role in member.roles
    known = [username for _, username, _, _ in SIGN_INS]
    others = Member.objects.exclude(username__in=known)
    assert len(others) == 14 - len(known)
    assert not any(member.has_usable_password() for member in others)


def test_label_figures_bear_the_country_they_were_read_in() -> None:
    read = LabelPeriod.objects.exclude(value=None)
    assert read
    assert all(row.source.startswith("US 21 CFR") for row in read)


def test_script_is_laid_on_the_roads_of_the_county() -> None:
    practice = Practice.objects.get()
    assert practice.road_network == "dispatch/demo/data/county.osm"
    assert Location.objects.filter(practice=practice).count() == len(read_scenario().locations)


def test_vets_under_way_are_where_the_script_has_them() -> None:
    call = Call.objects.get(complaint="caesarean_cattle")
    assert {(visit.vet.code, visit.state) for visit in call.visits.all()} == {
        ("V1", VisitState.ON_FARM), ("V5", VisitState.SET_OUT),
    }  # fmt: skip


def test_vets_are_on_the_rota_as_the_practice_wrote_it_down() -> None:
    vets = {vet.code: vet for vet in Vet.objects.all()}
    assert [vets[code].rota_roles for code in ("V1", "V7", "V9")] == [
        ["first", "second", "day"],
        ["first", "day"],
        ["day"],
    ]
    assert (vets["V1"].most_nights_running, float(vets["V6"].contract_share)) == (1, 0.6)
    assert [(rule.weekday, rule.role) for rule in vets["V6"].not_on.order_by("weekday")] == [
        (1, "first"),
        (3, "first"),
    ]
    assert {row.second.code for row in vets["V8"].named_seconds.all()} == {"V1", "V2", "V3", "V4"}


def test_practice_has_cover_and_a_rota_can_be_drafted_at_once() -> None:
    """The page of cover said that none was asked for, and no rota could be made."""
    practice = Practice.objects.get()
    needs = CoverNeed.objects.for_practice(practice).standing()
    assert {need.role for need in needs} == {"first", "second", "day"}
    manager = Member.objects.get(username="priya")
    first = practice.local(NOW).date() + timedelta(days=60)
    with transaction.atomic():
        rota = draft_rota(
            practice=practice,
            first_day=first,
            last_day=first + timedelta(days=6),
            actor=manager,
            now=NOW,
        )
        nights = Counter(rota.duties.values_list("role", flat=True))
        assert nights["first"] == nights["second"] == 7
        assert nights["day"] > 0
        transaction.set_rollback(True)


def test_vets_have_said_how_they_are_on_the_days_before_and_nobody_is_kept_back_by_it() -> None:
    reports = TirednessReport.objects.order_by("at")
    assert len(reports) == len(read_scenario().said) == 10
    assert reports[0].at < NOW - timedelta(days=8)
    assert {each.word for each in reports} == {"ok", "tired", "fresh"}
    assert {None, Decimal("3.75")} <= {each.hours_slept for each in reports}
    lately = Vet.objects.filter(self_reported_at__gt=NOW - timedelta(days=20))
    assert {vet.self_report for vet in lately} <= {"ok", "fresh"}
    assert len(lately) == 6
    assert not Vet.objects.filter(stood_down_until__gt=NOW).exists()


def desk_member() -> Member:
    return Member.objects.get(username="callum")


def test_evening_that_stands_still_is_ended_and_a_fresh_one_told() -> None:
    Vet.objects.filter(code="V1").update(stood_down_until=NOW + timedelta(days=9))
    taken = BookedVisit.objects.filter(vet=None).first()
    take_booked(booked_id=taken.pk, vet_id=Vet.objects.get(code="V4").pk, actor=desk_member(), now=NOW)
    old = list(Call.objects.open())
    later = NOW + timedelta(days=3, hours=5)
    loaded = load(later)
    assert (loaded.calls, loaded.ended) == (12, len(old))
    for call in Call.objects.filter(pk__in=[call.pk for call in old]):
        assert call.state == CallState.CANCELLED
        assert "started again" in call.outcome
    assert taken.visits.get().state == VisitState.STOOD_DOWN
    board = planned(later)
    assert states(board)["on farm"] == states(board)["on the way"] == 1
    assert Offer.objects.filter(state=OfferState.OPEN).count() == 1
    assert Practice.objects.count() == 1
    assert Vet.objects.get(code="V1").stood_down_until is None
    assert Kit.objects.get(vet__code="V1", kind="surgical_kit_cattle").state == KitState.READY
    assert Kit.objects.get(vet__code="V3", kind="surgical_kit_cattle").state == KitState.USED
    assert not BookedVisit.objects.filter(state=BookedState.BOOKED, window__endswith__lte=later).exists()


def test_fresh_evening_soon_after_the_last_tells_only_what_came_since() -> None:
    """Two evenings never overlap: a vet is not at two farms in one hour."""
    later = NOW + STANDS_STILL + timedelta(minutes=1)
    loaded = load(later)
    assert 0 < loaded.calls < 12
    new = Call.objects.order_by("-number")[: loaded.calls]
    assert min(call.called_at for call in new) > NOW
    assert planned(later).action.sentence


def test_evening_on_which_somebody_works_is_left_alone() -> None:
    offer = Offer.objects.get(state=OfferState.OPEN)
    accept_offer(offer_id=offer.pk, actor=offer.vet.member, now=NOW + timedelta(minutes=2))
    at = NOW + timedelta(minutes=2) + STANDS_STILL
    assert load(at).calls == 0
    assert load(at + timedelta(minutes=1)).calls > 0


def test_reset_sets_the_old_practice_aside_with_all_its_rows() -> None:
    calls = Call.objects.count()
    loaded = load(NOW + timedelta(minutes=10), reset=True)
    assert loaded.calls == 12
    assert Call.objects.count() == calls + 12
    old = Practice.objects.exclude(slug="fallowdene").get()
    assert not Call.objects.for_practice(old).open().exists()
    assert not Member.objects.for_practice(old).filter(is_active=True).exists()
    assert Member.objects.get(username="bettina").practice.slug == "fallowdene"
