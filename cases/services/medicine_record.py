"""Reads a farm's medicine record from its rows."""

from collections.abc import Iterable
from datetime import datetime

from django.db.models import F, Prefetch, Q, QuerySet

from cases.models import Animal, Location, Treatment, Withdrawal, WithdrawalState
from cases.records.line import Ending, MedicineLine, Standing, Subject
from cases.records.treated import Treated, treated

HOLDING = (WithdrawalState.RUNNING, WithdrawalState.NEEDS_VET, WithdrawalState.NOT_FOR_USE)


def record_lines(location: Location, start: datetime, end: datetime) -> tuple[MedicineLine, ...]:
    """Return every treatment begun in [start, end) at the farm, corrected ones too, oldest first."""
    rows = _rows(location).filter(first_given_at__gte=start, first_given_at__lt=end)
    return _lines(rows.order_by("first_given_at", "pk"))


def lines_changed_since(location: Location, since: datetime | None) -> tuple[MedicineLine, ...]:
    """Return the treatments written or corrected at or after `since` (all of them for None)."""
    rows = _rows(location)
    if since is not None:
        rows = rows.filter(Q(recorded_at__gte=since) | Q(corrected_by__recorded_at__gte=since))
    return _lines(rows.order_by("recorded_at", "pk"))


def treated_now(location: Location) -> tuple[Treated, ...]:
    """Return the animals and pens of the farm of which something is held, milk first."""
    rows = _rows(location).filter(withdrawals__state__in=HOLDING).distinct()
    return treated(_lines(rows.order_by("first_given_at", "pk")))


def _rows(location: Location) -> QuerySet[Treatment]:
    withdrawals = Withdrawal.objects.select_related("signed_by__member").order_by(F("commodity").desc())
    return (
        Treatment.objects.for_practice(location.practice)
        .filter(location=location)
        .select_related("medicine", "animal", "group", "vet__member", "batch_ref", "corrected_by")
        .prefetch_related(Prefetch("withdrawals", queryset=withdrawals))
    )


def _lines(rows: Iterable[Treatment]) -> tuple[MedicineLine, ...]:
    return tuple(_line(row) for row in rows)


def _line(row: Treatment) -> MedicineLine:
    later = getattr(row, "corrected_by", None)
    return MedicineLine(
        key=row.pk,
        recorded_at=row.recorded_at,
        first_given_at=row.first_given_at,
        last_given_at=row.last_given_at,
        doses=row.doses,
        subject=_subject(row),
        medicine_key=row.medicine_id,
        medicine=str(row.medicine),
        amount=row.dose_amount,
        unit=row.dose_unit,
        route=row.route,
        batch=row.batch,
        vet=row.vet.name,
        endings=tuple(_ending(each) for each in row.withdrawals.all()),
        given_by=row.given_by,
        expires_on=row.batch_ref.expires_on if row.batch_ref else None,
        diagnosis=row.diagnosis,
        off_label_reason=row.off_label_reason,
        marks=row.marks,
        corrects=row.corrects_id,
        corrected_by=later.pk if later else None,
        corrected_at=later.recorded_at if later else None,
    )


def _subject(row: Treatment) -> Subject:
    animal, group = row.animal, row.group
    if animal is not None:
        return Subject(False, animal.pk, animal.farm_number, animal.tag, row.species, 1, animal.in_milk)
    assert group is not None
    return Subject(True, group.pk, group.name, "", row.species, group.head, group.in_milk)


def _ending(row: Withdrawal) -> Ending:
    return Ending(
        commodity=row.commodity,
        standing=Standing(row.state),
        ends_at=row.ends_at,
        first_saleable_at=row.first_saleable_at,
        hours=row.period_hours,
        set_by=row.signed_by.name if row.signed_by else "",
    )


def animals_of(location: Location) -> QuerySet[Animal]:
    """Return the farm's animals by tag, those that have left too."""
    return Animal.objects.for_practice(location.practice).filter(location=location).order_by("tag")
