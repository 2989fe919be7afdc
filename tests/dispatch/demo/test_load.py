"""Loading the demo: once, again, at any hour, after days, and never half."""

from collections import Counter
from dataclasses import replace
from datetime import datetime, time, timedelta
from typing import Any

import pytest
from django.apps import apps
from django.core.management import CommandError, call_command

from cases.models import (
    BookedState,
    BookedVisit,
    Call,
    CallState,
    VisitState,
)
from dispatch.demo.load import evening
from dispatch.demo.load.clock import EveningClock
from dispatch.demo.load.demo import STANDS_STILL, first_load, load
from dispatch.demo.scenario.read import read_scenario
from dispatch.desk.shapes import Desk, Do
from dispatch.models import Offer, OfferState
from dispatch.services.assigning import take_booked
from dispatch.services.desk import desk
from dispatch.services.offers import accept_offer
from dispatch.services.planning import plan_practice
from rotas.models import (
    Kit,
    KitState,
    Member,
    Practice,
    RestException,
    Shift,
    Vet,
)

pytestmark = pytest.mark.django_db

SPRING, AUTUMN = "2026-03-29", "2026-10-25"
HOURS = {
    "an evening": "2026-04-24T20:40:00Z",
    "the small hours": "2026-04-24T02:00:00Z",
    "a forenoon": "2026-04-24T10:00:00Z",
    "the end of a day": "2026-04-24T16:59:00Z",
    "before the spring change": f"{SPRING}T00:30:00Z",
    "after the spring change": f"{SPRING}T01:40:00Z",
    "before the autumn change": f"{AUTUMN}T00:30:00Z",
    "after the autumn change": f"{AUTUMN}T02:40:00Z",
    "a holiday": "2026-12-25T13:40:00Z",
}
NOW = datetime.fromisoformat(HOURS["an evening"])
SLEEPING = range(0, 6)  # local hours in which most vets on call have no lawful job left to take


def rows() -> dict[str, int]:
    """Count the rows of every table of the three floors."""
    ours = (app for app in ("rotas", "cases", "dispatch"))
    models = [model for app in ours for model in apps.get_app_config(app).get_models()]
    return {model.__name__: model._default_manager.count() for model in models}


def planned(now: datetime) -> Desk:
    """Make one plan and return the desk."""
    practice = Practice.objects.get(slug="fallowdene")
    plan_practice(practice.pk, now)
    return desk(practice, now)


def states(board: Desk) -> Counter[str]:
    """Count what the vets on duty do, by the first words that the desk has for it."""
    words = [vet.state_words for vet in board.vets if vet.on_duty]
    return Counter("on farm" if word.startswith("at ") and "left" in word else word[:10] for word in words)


@pytest.mark.parametrize("hour", HOURS)
def test_desk_is_alive_at_any_hour(hour: str) -> None:
    now = datetime.fromisoformat(HOURS[hour])
    loaded = load(now)
    board = planned(now)
    assert loaded.calls == 12
    open_calls = [call for call in board.calls if call.state != CallState.DEFERRED]
    assert len(open_calls) >= 3
    assert states(board)["on farm"] == 1
    assert states(board)["on the way"] == 1
    assert board.action.do is not Do.NOTHING
    assert board.action.sentence
    ends = [shift.ends_at for shift in Shift.objects.at(now)]
    assert len(ends) >= 3
    assert min(ends) >= now + timedelta(hours=4)
    asked = Offer.objects.filter(state=OfferState.OPEN)
    if Practice.objects.get().local(now).hour not in SLEEPING:
        assert [offer.call.complaint for offer in asked] == ["dystocia_cattle"]
        assert not RestException.objects.exists()


def test_limit_in_the_way_of_the_script_is_passed_only_with_a_managers_name() -> None:
    """At some hours rest rules keep a vet from what the script has them do; here a short shift does."""
    demo = read_scenario()
    short = [replace(s, end_min=120) if (s.vet, s.start_min) == ("V1", 0) else s for s in demo.shifts]
    first_load(replace(demo, shifts=tuple(short)), NOW)
    call = Call.objects.get(complaint="dystocia_cattle", location__name="Windlestack")
    signed = RestException.objects.get(subject=f"call:{call.pk}")
    assert (signed.vet.code, signed.approved_by.name) == ("V1", "Priya Underlathe")
    assert call.state == CallState.SERVED
    assert call.visits.get().exception == signed


class Interrupted(RuntimeError):
    """The power went."""


def test_interrupted_load_has_never_happened(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: Any, **__: Any) -> None:
        raise Interrupted

    before = rows()
    with monkeypatch.context() as broken:
        broken.setattr(evening, "hand_over_call", fail)
        with pytest.raises(Interrupted):
            load(NOW)
    assert rows() == before
    assert load(NOW).calls == 12


def desk_member() -> Member:
    return Member.objects.get(username="callum")


def test_evening_that_stands_still_is_ended_and_a_fresh_one_told() -> None:
    load(NOW)
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
    load(NOW)
    later = NOW + STANDS_STILL + timedelta(minutes=1)
    loaded = load(later)
    assert 0 < loaded.calls < 12
    new = Call.objects.order_by("-number")[: loaded.calls]
    assert min(call.called_at for call in new) > NOW
    assert planned(later).action.sentence


def test_evening_on_which_somebody_works_is_left_alone() -> None:
    load(NOW)
    offer = Offer.objects.get(state=OfferState.OPEN)
    accept_offer(offer_id=offer.pk, actor=offer.vet.member, now=NOW + timedelta(minutes=2))
    at = NOW + timedelta(minutes=2) + STANDS_STILL
    assert load(at).calls == 0
    assert load(at + timedelta(minutes=1)).calls > 0


def test_reset_sets_the_old_practice_aside_with_all_its_rows() -> None:
    load(NOW)
    calls = Call.objects.count()
    loaded = load(NOW + timedelta(minutes=10), reset=True)
    assert loaded.calls == 12
    assert Call.objects.count() == calls + 12
    old = Practice.objects.exclude(slug="fallowdene").get()
    assert not Call.objects.for_practice(old).open().exists()
    assert not Member.objects.for_practice(old).filter(is_active=True).exists()
    assert Member.objects.get(username="bettina").practice.slug == "fallowdene"


def test_command_takes_an_instant_and_refuses_what_is_none() -> None:
    call_command("load_demo", "--at", HOURS["a forenoon"])
    assert Call.objects.filter(called_at__lte=datetime.fromisoformat(HOURS["a forenoon"])).count() == 12
    with pytest.raises(CommandError, match="no instant"):
        call_command("load_demo", "--at", "2026-04-24T10:00:00")


@pytest.mark.parametrize("hour", range(24))
def test_rota_keeps_its_clock_times_at_whatever_hour_the_demo_opens(hour: int) -> None:
    zone = Practice(time_zone="Europe/London").tz
    now = NOW.replace(hour=hour, minute=47)
    clock = EveningClock.showing(now, 220, zone)
    assert clock.at(220) == now
    assert clock.rota_began.astimezone(zone).minute in (0, 30)
    assert timedelta(0) <= clock.began - clock.rota_began < timedelta(minutes=30)
    morning = clock.on_rota(14 * 60)
    assert morning.astimezone(zone).time() == time(8)
    assert timedelta(hours=4) <= morning - now < timedelta(hours=28)
    assert clock.on_rota(0) == clock.rota_began
    assert clock.on_rota(-10 * 60) == morning - timedelta(days=1)  # 08:00 on the script's own day
