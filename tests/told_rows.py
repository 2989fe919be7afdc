"""What was told to a farm, whom to ring, and what is to leave it: rows of one practice, by the services."""

from datetime import time, timedelta

from cases.models import FarmContact, MilkCollection, Reminder, Ring, Sale, Telling
from cases.services import ringing, sales
from cases.services.reminders import queue_due
from tests.api.world import World


def a_telling(world: World) -> Telling:
    """Let the farm be told what its cow was given."""
    if not Reminder.objects.filter(practice=world.practice, kind="given").exists():
        world.treatment()
    queue_due(now=world.now)
    return Telling.objects.filter(practice=world.practice, asks=True).latest("pk")


def a_ring(world: World) -> Ring:
    """Let nobody have read it in time, so that the farm is on the list to ring."""
    told = a_telling(world)
    told.reminders.update(ring_at=world.now)
    ringing.open_rings(now=world.now)
    return Ring.objects.open().get(location=told.location_id)


def a_sale(world: World) -> Sale:
    """Enter a sale of the cow in a month."""
    return sales.enter_sale(
        location_id=world.farm.pk,
        actor=world.desk,
        now=world.now,
        leaves_at=world.now + timedelta(days=30),
        animal_ids=[world.cow.pk],
    ).sale


def a_collection(world: World) -> MilkCollection:
    """Let milk be collected every day at seven."""
    return sales.set_collection(
        location_id=world.farm.pk, actor=world.desk, now=world.now, weekdays=range(7), at=time(7)
    )


def a_contact(world: World) -> FarmContact:
    """Let a relief milker be told about milk."""
    return sales.add_contact(
        location_id=world.farm.pk, actor=world.desk, now=world.now, name="Relief", part="relief",
        number="01632 960321",
    )  # fmt: skip
