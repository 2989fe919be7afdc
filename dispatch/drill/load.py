"""Fills the drill's database: one farm for each reminder, every one of them due.

A program: it migrates, and takes the number of reminders as its argument.
"""

import os
import sys
from collections.abc import Callable
from datetime import datetime, time, timedelta
from typing import Any

import django

DUE = timedelta(minutes=5)  # how long ago they fell due
HOUR = timedelta(hours=1)
BATCH = 1000  # farms written at once


def load(reminders: int, now: datetime) -> None:
    """Write a practice without quiet hours, and farms that are owed one reminder each."""
    from rotas.models import Member, Practice, Role, Vet

    practice = Practice.objects.create(
        name="Stone Fold Farm Vets",
        slug="drill",
        email="desk@drill.invalid",
        base_latitude=54.1,
        base_longitude=-2.4,
        quiet_from=time(0),
        quiet_until=time(0),  # alike, so that no hour is quiet
    )
    member = Member.objects.create_user(
        "drill-vet", practice=practice, name="Ines Harrow", roles=[Role.VET], email="vet@drill.invalid"
    )
    vet = Vet.objects.create(
        practice=practice, member=member, code="H", home_latitude=54.1, home_longitude=-2.4
    )
    for first in range(0, reminders, BATCH):
        _farms(vet, range(first, min(first + BATCH, reminders)), now)


def _farms(vet: Any, numbers: range, now: datetime) -> None:
    """Write farms, at each a visit that is over, and one check that the farmer is reminded of."""
    from cases.followups import table_now
    from cases.models import BookedVisit, Client, Location, Recheck, Reminder, Visit

    def made(model: Any, of: Callable[[int], dict[str, object]]) -> list[Any]:
        rows = [model(practice=vet.practice, **of(index)) for index in range(len(numbers))]
        return list(model.objects.bulk_create(rows))

    names = [f"farm{number}" for number in numbers]
    clients = made(Client, lambda i: {"name": names[i], "email": f"{names[i]}@drill.invalid"})
    place = {"latitude": 54.1, "longitude": -2.4}
    farms = made(Location, lambda i: {"client": clients[i], "name": names[i], **place})
    window = (now - 6 * HOUR, now - 3 * HOUR)
    work = {"complaint": "routine_visit", "minutes_median": 30, "minutes_pessimistic": 60, "window": window}
    booked = made(BookedVisit, lambda i: {"location": farms[i], "state": "done", **work})
    over = {"vet": vet, "state": "finished", "accepted_at": now - 5 * HOUR, "finished_at": now - 4 * HOUR}
    visits = made(Visit, lambda i: {"booked": booked[i], **over})
    check = {"template": "fu_calving", "step": 1, "who": "farmer_self", "action": "cow up, eating"}
    check |= {"importance": "must", "anchor": "visit_end", "table_version": table_now().version}
    owed = {**check, "due_at": now - DUE}
    rechecks = made(Recheck, lambda i: {"visit": visits[i], "location": farms[i], **owed})
    due = {"kind": "recheck", "about_at": now - DUE, "send_at": now - DUE}
    made(Reminder, lambda i: {"client": clients[i], "location": farms[i], "recheck": rechecks[i], **due})


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "dispatch.settings")
    django.setup()
    from django.core.management import call_command
    from django.db import transaction
    from django.utils import timezone

    call_command("migrate", interactive=False, verbosity=0)
    with transaction.atomic():
        load(int(sys.argv[1]), timezone.now())
