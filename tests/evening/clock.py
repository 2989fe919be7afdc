"""A clock that travels: the night passes in as many steps as something happens in it."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from importlib import import_module

import time_machine

from dispatch.beat import SCHEDULE
from dispatch.services.turn import owed
from dispatch.tasks import plan_practice


def ticks() -> list[Callable[[], object]]:
    """Return every task that the clock starts, as the beat's schedule names them."""
    tasks = []
    for entry in SCHEDULE.values():
        module, _, name = entry["task"].rpartition(".")
        tasks.append(getattr(import_module(module), name))
    return tasks


class TravelledClock:
    """Stands still between two steps; at each step the workers do what beat and queues give them.

    `longest` is how far it ever goes in one step, so that no lapse and no reminder is overslept.
    """

    def __init__(self, traveller: time_machine.Traveller, longest: timedelta) -> None:
        self.traveller, self.longest = traveller, longest
        self.tasks = ticks()

    def now(self) -> datetime:
        """Return the present instant."""
        return datetime.now(UTC)

    def wait_until(self, instant: datetime) -> None:
        """Let the planner answer what it was asked, and return to look at it; else go on to the instant."""
        if not self.plan():
            self.traveller.move_to(min(instant, self.now() + self.longest))
            self.tick()
            self.plan()

    def plan(self) -> bool:
        """Do what waits in the planner's queue; say whether anything did."""
        practices = list(owed().values_list("practice_id", flat=True))
        for practice_id in practices:
            plan_practice(practice_id)
        return bool(practices)

    def tick(self) -> None:
        """Run once every task that the clock starts."""
        for task in self.tasks:
            task()
