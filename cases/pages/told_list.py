"""What the aftercare page shows of what was told: whom to ring, who was told, who has read it."""

from datetime import datetime
from typing import Any

from cases.models import Ring, Telling
from cases.services import ringing
from cases.services.reminder_words import phones
from cases.services.ringing_words import what_to_say
from cases.services.telephones import spoken
from rotas.models import Practice

SHOWN, TOLD_SHOWN = 50, 30


def to_ring(practice: Practice, now: datetime) -> list[dict[str, Any]]:
    """Return the open entries: whom to ring on which number, what to say, by when."""
    rings = list(ringing.to_ring_now(practice)[:SHOWN])
    said = what_to_say(rings, now)
    return [_entry(ring, said[ring.pk], now) for ring in rings]


def _entry(ring: Ring, said: list[str], now: datetime) -> dict[str, Any]:
    contacts = [each for each in ring.location.contacts.all() if each.ended_at is None]
    numbers = [f"{each.name}: {spoken(each.number)}" for each in contacts if each.number]
    keeper = phones(ring.location).strip()
    numbers += [f"{ring.location.client.name}: {keeper}"] if keeper else []
    return {"ring": ring, "numbers": numbers, "say": said, "late": ring.by_at <= now}


def told_lately(practice: Practice) -> list[Telling]:
    """Return what was told last, with whether it was read."""
    rows = Telling.objects.for_practice(practice).select_related("message", "location")
    return list(rows.order_by("-told_at", "-pk")[:TOLD_SHOWN])
