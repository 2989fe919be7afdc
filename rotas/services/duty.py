"""Writing down what was really worked."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from decimal import Decimal

from django.db import transaction
from django.db.models import QuerySet
from psycopg.types.range import TimestamptzRange

from rotas import audit, events
from rotas.errors import BadInput, FromTheFuture
from rotas.models import DutyKind, DutyRecord, Member, Vet

Span = tuple[datetime, datetime]

CLOCKS_MAY_DIFFER = timedelta(minutes=2)


@transaction.atomic
def record_duty(
    *,
    vet: Vet,
    kind: str,
    start: datetime,
    end: datetime,
    source: str,
    now: datetime,
    actor: Member | None,
    drive_km: Decimal | None = None,
) -> list[DutyRecord]:
    """Write what a vet worked in [start, end) and return its records, in order.

    `source` (such as ``visit:7``) with `kind` names the work: writing it again moves it, so a report
    that comes twice or late is harmless. Time that other work of this vet already covers is left
    out, so that no hour counts twice; what then remains in pieces is kept as ``visit:7``,
    ``visit:7#2``, and so on. An empty list means that all of it was covered.
    """
    _require_past(start, end, now)
    Vet.objects.select_for_update().get(pk=vet.pk)
    mine = list(_of_source(vet, kind, source).order_by("period"))
    pieces = uncovered((start, end), _other_work(vet, mine, start, end))
    before = [_span(record) for record in mine]
    if before == pieces:
        return mine
    records = _rewrite(vet, kind, source, mine, pieces, drive_km)
    audit.record(
        practice=vet.practice, at=now, verb="duty_recorded", subject=source, actor=actor,
        sentence=f"{vet}: {DutyKind(kind).label}, {_in_words(vet, pieces)}",
        before={"spans": before}, after={"spans": pieces},
    )
    events.announce(vet.practice_id, "rota", f"{vet}: {DutyKind(kind).label}")
    return records


def _require_past(start: datetime, end: datetime, now: datetime) -> None:
    if end <= start:
        raise BadInput(field="end", problem="work ends after it starts. Check both times.")
    if end > now + CLOCKS_MAY_DIFFER:
        raise FromTheFuture(field="end")


def _of_source(vet: Vet, kind: str, source: str) -> QuerySet[DutyRecord]:
    """Return the records of one piece of work, its later pieces included."""
    rows = DutyRecord.objects.filter(vet=vet, kind=kind)
    return rows.filter(source=source) | rows.filter(source__startswith=f"{source}#")


def _other_work(vet: Vet, mine: list[DutyRecord], start: datetime, end: datetime) -> list[Span]:
    rows = DutyRecord.objects.filter(vet=vet, period__overlap=TimestamptzRange(start, end))
    return [_span(row) for row in rows.exclude(pk__in=[row.pk for row in mine]).order_by("period")]


def uncovered(span: Span, others: Iterable[Span]) -> list[Span]:
    """Return the parts of a span that none of the others covers; `others` in order of start."""
    start, end = span
    pieces = []
    for other_start, other_end in others:
        if other_start > start:
            pieces.append((start, min(other_start, end)))
        start = max(start, other_end)
    if start < end:
        pieces.append((start, end))
    return pieces


def _rewrite(
    vet: Vet, kind: str, source: str, old: list[DutyRecord], pieces: list[Span], drive_km: Decimal | None
) -> list[DutyRecord]:
    """Replace the records of one piece of work; the event table keeps what they were."""
    for record in old:
        record.delete()
    return [
        DutyRecord.objects.create(
            practice=vet.practice, vet=vet, kind=kind, period=TimestamptzRange(*piece),
            source=source if number == 1 else f"{source}#{number}",
            drive_km=drive_km if number == 1 else None,
        )
        for number, piece in enumerate(pieces, start=1)
    ]


def _span(record: DutyRecord) -> Span:
    return record.period.lower, record.period.upper


def _in_words(vet: Vet, pieces: list[Span]) -> str:
    local = vet.practice.local
    spans = [f"{local(start):%a %H:%M} to {local(end):%a %H:%M}" for start, end in pieces]
    return ", ".join(spans) or "already covered by other work"
