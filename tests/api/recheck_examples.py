"""Good examples of what is written about rechecks."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

from cases.followups import Who
from cases.services.booking import cancel_booking
from tests.api.world import World
from tests.factories import NOW

PAST = (NOW - timedelta(minutes=5)).isoformat()


def the_farms_own(world: World) -> int:
    """Return a recheck that the farm does itself."""
    return next(row.pk for row in world.rechecks() if row.who == Who.FARMER.value)


def unbooked(world: World) -> int:
    """Let the desk take a recheck's visit out of the book; return the recheck."""
    recheck = next(row for row in world.rechecks() if row.booked_id)
    cancel_booking(booked_id=recheck.booked_id, actor=world.desk, now=world.now, reason="snow")
    return recheck.pk


RECHECK_GOOD: dict[str, Callable[[World], tuple[str, dict[str, Any], str]]] = {
    "record_result": lambda w: (f"rechecks/{w.rechecks()[0].pk}/result", {"result": "eating"}, "desk"),
    "record_attempt": lambda w: (
        f"rechecks/{w.rechecks()[0].pk}/attempts",
        {"outcome": "no_answer", "how": "telephone", "note": "rang twice"},
        "desk",
    ),
    "farmer_answers": lambda w: (
        f"rechecks/{the_farms_own(w)}/answers",
        {"fine": False, "words": "still down", "said_by": "young farmer"},
        "desk",
    ),
    "end_recheck": lambda w: (f"rechecks/{w.rechecks()[0].pk}/end", {"reason": "seen today"}, "vet"),
    "say_recheck_animal": lambda w: (
        f"rechecks/{w.rechecks()[0].pk}/animal",
        {"animal": w.cow.pk},
        "desk",
    ),
    "book_recheck_again": lambda w: (f"rechecks/{unbooked(w)}/book", {"vet": w.vet.pk}, "desk"),
    "anchor_happened": lambda w: (
        f"visits/{w.rechecks()[0].visit_id}/events",
        {"anchor": "birth", "happened_at": PAST},
        "desk",
    ),
}
