"""Writing down what was really worked."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

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
    return record_work(
        vet=vet, spans={kind: (start, end)}, source=source, now=now, actor=actor, drive_km=drive_km
    )


@transaction.atomic
def record_work(
    *,
    vet: Vet,
    spans: Mapping[str, Span],
    source: str,
    now: datetime,
    actor: Member | None,
    drive_km: Decimal | None = None,
) -> list[DutyRecord]:
    """Do the same for several kinds of work of one source, which move together; earlier ones come first.

    `drive_km` goes with the first record.
    """
    for start, end in spans.values():
        _require_past(start, end, now)
    Vet.objects.select_for_update().get(pk=vet.pk)
    mine = list(_of_source(vet, spans, source).order_by("period"))
    wanted = _pieces(vet, spans, mine)
    if [(row.kind, _span(row)) for row in mine] == wanted:
        return mine
    for record in mine:
        record.delete()  # the event table keeps what it was
    records = list(_written(vet, source, wanted, drive_km))
    _tell(vet, source, mine, records, now, actor)
    return records


def _of_source(vet: Vet, kinds: Iterable[str], source: str) -> QuerySet[DutyRecord]:
    """Return the records of one piece of work, its later pieces included."""
    rows = DutyRecord.objects.filter(vet=vet, kind__in=list(kinds))
    return rows.filter(source=source) | rows.filter(source__startswith=f"{source}#")


def _pieces(vet: Vet, spans: Mapping[str, Span], mine: list[DutyRecord]) -> list[tuple[str, Span]]:
    """Return what other work leaves of every span, in order of time."""
    whole = TimestamptzRange(min(start for start, _ in spans.values()), max(end for _, end in spans.values()))
    others = DutyRecord.objects.filter(vet=vet, period__overlap=whole)
    taken = [_span(row) for row in others.exclude(pk__in=[row.pk for row in mine])]
    found: list[tuple[str, Span]] = []
    for kind, span in sorted(spans.items(), key=lambda item: item[1]):
        pieces = uncovered(span, sorted(taken))
        taken += pieces
        found += [(kind, piece) for piece in pieces]
    return sorted(found, key=lambda item: item[1])


def _written(
    vet: Vet, source: str, wanted: list[tuple[str, Span]], drive_km: Decimal | None
) -> Iterator[DutyRecord]:
    counted: Counter[str] = Counter()
    for number, (kind, piece) in enumerate(wanted):
        counted[kind] += 1
        yield DutyRecord.objects.create(
            practice=vet.practice,
            vet=vet,
            kind=kind,
            period=TimestamptzRange(*piece),
            source=source if counted[kind] == 1 else f"{source}#{counted[kind]}",
            drive_km=None if number else drive_km,
        )


def _tell(
    vet: Vet,
    source: str,
    before: list[DutyRecord],
    after: list[DutyRecord],
    now: datetime,
    actor: Member | None,
) -> None:
    worked = ", ".join(_in_words(vet, record) for record in after) or "already covered by other work"
    audit.record(
        practice=vet.practice,
        at=now,
        verb="duty_recorded",
        subject=source,
        actor=actor,
        sentence=f"{vet}: {worked}",
        before=_facts(before),
        after=_facts(after),
    )
    events.announce(vet.practice_id, "rota", f"{vet}: {worked}")


def _require_past(start: datetime, end: datetime, now: datetime) -> None:
    if end <= start:
        raise BadInput(field="end", problem="work ends after it starts. Check both times.")
    if end > now + CLOCKS_MAY_DIFFER:
        raise FromTheFuture(field="end")


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


def _span(record: DutyRecord) -> Span:
    return record.period.lower, record.period.upper


def _facts(records: list[DutyRecord]) -> dict[str, Any]:
    return {"worked": [[record.kind, *_span(record)] for record in records]}


def _in_words(vet: Vet, record: DutyRecord) -> str:
    start, end = (vet.practice.local(moment) for moment in _span(record))
    return f"{DutyKind(record.kind).label} {start:%a %H:%M} to {end:%a %H:%M}"
