"""What to say on the telephone to a farm that has to be rung."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime

from cases.models import Reminder, Ring
from cases.services.short_words import line_of
from cases.services.standing import judged, with_facts

MOST_SAID = 12  # lines of one entry; beyond that the message itself is read out


def what_to_say(rings: Iterable[Ring], now: datetime) -> dict[int, list[str]]:
    """Return the lines to say by the key of the entry, as they stand now."""
    keys = [ring.pk for ring in rings]
    found: dict[int, list[str]] = defaultdict(list)
    rows = Reminder.objects.filter(ring__in=keys, acknowledged_at=None, overtaken_at=None)
    for reminder in with_facts(rows).order_by("use_at", "pk"):
        lines = found[reminder.ring_id or 0]
        if len(lines) < MOST_SAID:
            lines.append(line_of(judged(reminder, now)))
    return found
