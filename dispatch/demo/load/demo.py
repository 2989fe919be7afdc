"""Loading the demo: once from nothing, later only a fresh evening, and never half of either."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import connection, transaction

from dispatch.demo.load import aside, over, story
from dispatch.demo.load.cast import Cast
from dispatch.demo.load.clock import EveningClock
from dispatch.demo.load.evening import Evening
from dispatch.demo.load.farms import write_clients, write_medicines
from dispatch.demo.load.letters import withdraw_answered
from dispatch.demo.load.people import write_people, write_practice
from dispatch.demo.load.rota import write_bookings, write_cover, write_rota, write_said, write_worked
from dispatch.demo.load.tried import ring_early
from dispatch.demo.scenario import kinds
from dispatch.demo.scenario.read import read_scenario
from dispatch.services.planning import ask_for_plan
from rotas import events
from rotas.models import Practice

STANDS_STILL = timedelta(minutes=90)
"""An evening on which no person has done anything for so long is over."""
LOCK = 0x42595245


@dataclass(frozen=True)
class Loaded:
    """What a run has done. `calls` were taken, `ended` are those of an earlier evening."""

    sentence: str
    calls: int = 0
    ended: int = 0


def load(now: datetime, *, reset: bool = False) -> Loaded:
    """Load the practice, or lay a fresh evening when the last one is over, or do nothing.

    One transaction: what is interrupted has never happened. Two runs wait for each other. `reset`
    sets the practice aside (its rows stay, its people can no longer sign in) and loads a new one.
    """
    demo = read_scenario()
    with transaction.atomic():
        _one_at_a_time()
        with events.unheard():
            loaded, practice = _load(demo, now, reset=reset)
        if loaded.calls:
            ask_for_plan(practice.pk, "the demo was loaded", now=now)
            events.announce(practice.pk, "plan", loaded.sentence)
    return loaded


def _one_at_a_time() -> None:
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_xact_lock(%s)", [LOCK])


def _load(demo: kinds.Scenario, now: datetime, *, reset: bool) -> tuple[Loaded, Practice]:
    practice = Practice.objects.filter(slug=demo.practice.slug).first()
    if practice is not None and reset:
        aside.set_aside(Cast(demo, practice), now)
        practice = None
    if practice is None:
        return first_load(demo, now)
    last = story.last_done_by_people(practice)
    if last is not None and now - last <= STANDS_STILL:
        return Loaded(f"{practice.name} is loaded and the evening goes on."), practice
    return _fresh_evening(demo, practice, last, now), practice


def first_load(demo: kinds.Scenario, now: datetime) -> tuple[Loaded, Practice]:
    """Load everything from nothing, with the evening up to the scenario's moment. Wants a transaction."""
    practice = write_practice(demo, now)
    clock = EveningClock.showing(now, demo.now_min, practice.tz)
    write_people(demo, practice, clock)
    write_clients(demo, practice, now)
    write_medicines(demo, practice, now)
    calls = _lay(Cast(demo, practice), clock, clock.rota_began)
    return Loaded(f"{practice.name} is loaded, with {calls} calls this evening.", calls), practice


def _fresh_evening(demo: kinds.Scenario, practice: Practice, last: datetime | None, now: datetime) -> Loaded:
    """End the old evening and tell a new one, from where the old one was left at the earliest."""
    clock = EveningClock.showing(now, demo.now_min, practice.tz)
    since = max(clock.rota_began, last + timedelta(minutes=1)) if last else clock.rota_began
    cast = Cast(demo, practice)
    ended = over.end_evening(cast, since, now)
    over.ready_again(cast, clock, since)
    calls = _lay(Cast(demo, practice), clock, since)
    return Loaded(f"A fresh evening with {calls} calls; {ended} of the last one were ended.", calls, ended)


def _lay(cast: Cast, clock: EveningClock, since: datetime) -> int:
    """Lay rota, book and evening."""
    write_cover(cast, clock)
    write_rota(cast, clock, since)
    write_worked(cast, clock)
    write_said(cast, clock)
    write_bookings(cast, clock)
    calls = Evening(cast, clock).play(since)
    ring_early(cast, clock)
    withdraw_answered(cast.practice, clock.now)
    story.tell(cast.practice, clock.now, story.LAID, f"An evening with {calls} calls laid", calls=calls)
    return calls
