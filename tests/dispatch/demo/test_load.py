"""Loading the demo from nothing: at any hour, with the script's limits, and never half."""

from dataclasses import replace
from datetime import datetime, time, timedelta
from typing import Any

import pytest
from django.apps import apps
from django.core.management import CommandError, call_command

from cases.models import Call, CallState
from dispatch.demo.load import evening
from dispatch.demo.load.clock import EveningClock
from dispatch.demo.load.demo import first_load, load
from dispatch.demo.scenario.read import read_scenario
from rotas.models import Practice, RestException
from tests.dispatch.demo.boards import assert_desk_is_alive

pytestmark = pytest.mark.django_db

SPRING, AUTUMN = "2026-03-29", "2026-10-25"
HOURS = {  # and an evening, which test_loaded.py looks at
    "the small hours": "2026-04-24T02:00:00Z",
    "a forenoon": "2026-04-24T10:00:00Z",
    "the end of a day": "2026-04-24T16:59:00Z",
    "before the spring change": f"{SPRING}T00:30:00Z",
    "after the spring change": f"{SPRING}T01:40:00Z",
    "before the autumn change": f"{AUTUMN}T00:30:00Z",
    "after the autumn change": f"{AUTUMN}T02:40:00Z",
    "a holiday": "2026-12-25T13:40:00Z",
}
NOW = datetime.fromisoformat("2026-04-24T20:40:00Z")


def rows() -> dict[str, int]:
    """Count the rows of every table of the three floors."""
    ours = (app for app in ("rotas", "cases", "dispatch"))
    models = [model for app in ours for model in apps.get_app_config(app).get_models()]
    return {model.__name__: model._default_manager.count() for model in models}


@pytest.mark.parametrize("hour", HOURS)
def test_desk_is_alive_at_every_other_hour(hour: str) -> None:
    now = datetime.fromisoformat(HOURS[hour])
    assert_desk_is_alive(load(now), now)


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
