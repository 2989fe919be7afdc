"""Playing the night and what follows it: who sits where, and how time goes on."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import time_machine
from django.db import transaction

from cases.models import Reminder, ReminderState
from dispatch.client.wire import Wire
from dispatch.demo.load.demo import first_load
from dispatch.demo.replay.person import Line
from dispatch.demo.replay.play import Replay
from dispatch.demo.scenario.kinds import DemoCall, Scenario
from dispatch.demo.scenario.read import ROADS, read_scenario
from dispatch.demo.sign_ins import SIGN_INS
from dispatch.travel import travel_times
from rotas.models import MessageState, OutboxMessage, Practice
from tests.evening.clock import TravelledClock
from tests.evening.inside import Inside
from tests.evening.pages import Pages

BEGAN = datetime(2026, 4, 24, 17, tzinfo=UTC)
"""Friday 24 April 2026, 18:00 in London."""
LOOK = timedelta(minutes=10)
ON_CALL = ("V1", "V2", "V5")
ADDRESS = "http://localhost"
DESK = "R2"
LONGEST_AFTERCARE = timedelta(days=400)
WEEK_H = 7 * 24
VETS_PERIOD_H = {"milk": WEEK_H, "meat": 4 * WEEK_H, "eggs": WEEK_H}
"""What the vets of the test sign where no label speaks; above every lawful minimum."""


@dataclass
class Night:
    """The practice, everybody's line to it, and the clock."""

    demo: Scenario
    practice: Practice
    clock: TravelledClock
    inside: Inside
    lines: dict[str, Line]
    told: list[str]

    @property
    def vet_lines(self) -> list[Line]:
        """The lines of the vets who are signed in."""
        return [line for name, line in self.lines.items() if name.startswith("V")]

    @property
    def statuses(self) -> list[int]:
        """The status of every answer, API and pages."""
        desk = self.lines[DESK]
        assert isinstance(desk, Pages)
        return self.inside.statuses + desk.statuses


@contextmanager
def evening() -> Iterator[Night]:
    """Load the practice at 18:00, before any call, and sign everybody in."""
    demo = replace(read_scenario(), now_min=0)
    with time_machine.travel(BEGAN, tick=False) as traveller:
        with transaction.atomic():
            _, practice = first_load(demo, BEGAN)
        inside = Inside()
        lines = dict(signed_in(demo, inside))
        yield Night(demo, practice, TravelledClock(traveller, LOOK), inside, lines, [])


def signed_in(demo: Scenario, inside: Inside) -> Iterator[tuple[str, Line]]:
    ids = {person.username: person.id for person in (*demo.members, *(vet.member for vet in demo.vets))}
    for role, username, password, _ in SIGN_INS:
        if role == "vet" and ids[username] not in ON_CALL:
            continue
        body = {"username": username, "password": password}
        token = Wire(ADDRESS, transport=inside).post("sign-in", body)["token"]
        wire = Wire(ADDRESS, token, transport=inside)
        at_desk = ids[username] == DESK
        yield ids[username], Pages(wire, username, password) if at_desk else wire


def play(night: Night, calls: list[DemoCall]) -> None:
    """Play the calls from 18:00 until nobody waits any more."""
    zone = night.practice.tz

    def say(line: str) -> None:
        night.told.append(f"{night.clock.now().astimezone(zone):%a %H:%M}  {line}")

    Replay(
        night.demo, calls, night.lines, from_min=0, clock=night.clock, speed=1,
        roads=travel_times(ROADS, zone=zone), say=say, look=LOOK,
    ).play()  # fmt: skip


def sign_periods(night: Night) -> int:
    """Let a vet set, through the API, every period that no label gives; return how many."""
    line = night.vet_lines[0]
    open_ones = [
        row for row in line.get("withdrawals", page_size=200)["results"] if row["state"] == "needs_vet"
    ]
    for row in open_ones:
        hours = max(VETS_PERIOD_H[row["commodity"]], row["minimum_hours"] or 0)
        body = {"hours": hours, "reason": "The label in the hand says less; this is on the safe side."}
        line.post(f"withdrawals/{row['id']}/set", body, f"period-{row['id']:08}")
    return len(open_ones)


def let_the_days_pass(night: Night) -> None:
    """Travel from one thing that is due to the next until nothing waits to be told."""
    ends = night.clock.now() + LONGEST_AFTERCARE
    while (due := _next_due()) is not None and due < ends:
        night.clock.traveller.move_to(max(due, night.clock.now()))
        night.clock.tick()
    night.clock.traveller.shift(timedelta(days=2))
    night.clock.tick()


def _next_due() -> datetime | None:
    waiting = Reminder.objects.filter(state=ReminderState.WAITING).values_list("send_at", flat=True)
    unsent = OutboxMessage.objects.filter(state=MessageState.WAITING).values_list("not_before", flat=True)
    return min((*waiting, *unsent), default=None)
