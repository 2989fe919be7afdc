"""Writing the story: one line per write, in the write's own transaction."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django.db import connection, models

from rotas.models import AuditLine, Member, Practice


def record(
    *,
    practice: Practice,
    at: datetime,
    verb: str,
    subject: models.Model | str,
    sentence: str,
    actor: Member | None = None,
    actor_name: str = "",
    reason: str = "",
    before: dict[str, Any] | None = None,
    after: dict[str, Any] | None = None,
) -> AuditLine:
    """Write the audit line of a change. Refuses to run outside a transaction.

    `actor_name` names the process (such as "clock") where no member acted. Read it back by
    `AuditLine.objects.for_practice(practice)`.
    """
    _require_transaction()
    return AuditLine.objects.create(
        practice=practice,
        at=at,
        actor=actor,
        actor_name=actor.name if actor else (actor_name or "Byrelight"),
        verb=verb,
        subject=subject if isinstance(subject, str) else name_of(subject),
        sentence=sentence,
        reason=reason,
        before=before or {},
        after=after or {},
    )


def record_all(lines: Iterable[AuditLine]) -> None:
    """Write the lines of many changes at once; the same rules hold as for one."""
    _require_transaction()
    AuditLine.objects.bulk_create(lines)


def _require_transaction() -> None:
    if not connection.in_atomic_block:
        raise RuntimeError("An audit line belongs in the transaction of what it tells of.")


def name_of(row: models.Model) -> str:
    """Return the audit name of a row, such as ``call:41`` (its key, not the spoken number)."""
    return f"{row._meta.model_name}:{row.pk}"
