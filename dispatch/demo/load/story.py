"""The lines that the demo itself writes into the story: what it loaded, and when."""

from datetime import datetime
from typing import Any

from rotas import audit
from rotas.models import AuditLine, Practice

ACTOR = "demo"
LAID = "demo_evening_laid"


def tell(practice: Practice, now: datetime, verb: str, sentence: str, **after: Any) -> None:
    """Write one line under the demo's own name."""
    audit.record(
        practice=practice,
        at=now,
        verb=verb,
        subject=practice,
        sentence=sentence,
        actor_name=ACTOR,
        after=after,
    )


def was_laid(practice: Practice) -> bool:
    """Say whether an evening was ever laid for the practice."""
    return AuditLine.objects.for_practice(practice).filter(verb=LAID).exists()


def last_done_by_people(practice: Practice) -> datetime | None:
    """Return when a person, not the clock or the planner, last did something here."""
    lines = AuditLine.objects.for_practice(practice).filter(actor__isnull=False)
    return lines.order_by("-at").values_list("at", flat=True).first()
