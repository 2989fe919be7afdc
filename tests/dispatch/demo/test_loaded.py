"""The demo as it stands once it is loaded. One load serves all: nothing here changes a row."""

from collections import Counter
from collections.abc import Iterator
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.apps import apps
from django.db import transaction

from cases.models import Call, CallState, LabelPeriod, Location, Reminder, VisitState
from dispatch.demo.load.demo import load
from dispatch.demo.scenario.read import read_scenario
from dispatch.demo.sign_ins import SIGN_INS
from rotas.models import AuditLine, CoverNeed, Member, OutboxMessage, Practice, TirednessReport, Vet
from rotas.services.rotas import draft_rota

NOW = datetime.fromisoformat("2026-04-24T20:40:00Z")


@pytest.fixture(scope="module", autouse=True)
def loaded(django_db_setup: None, django_db_blocker: Any) -> Iterator[None]:
    """Load once for the module, and undo it after the last test."""
    with django_db_blocker.unblock(), transaction.atomic():
        load(NOW)
        yield
        transaction.set_rollback(True)


def rows() -> dict[str, int]:
    """Count the rows of every table of the three floors."""
    models = [
        model for app in ("rotas", "cases", "dispatch") for model in apps.get_app_config(app).get_models()
    ]
    return {model.__name__: model._default_manager.count() for model in models}


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
