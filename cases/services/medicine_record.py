"""Reads a farm's medicine record from its rows."""

from collections.abc import Iterable
from datetime import datetime

from django.db.models import F, Prefetch, Q, QuerySet

from cases.models import (
    Animal,
    Commodity,
    Group,
    GroupStay,
    Location,
    Treatment,
    Withdrawal,
    WithdrawalState,
)
from cases.records.line import Ending, MedicineLine, Standing, Subject
from cases.records.treated import Held, Treated, in_order
from cases.services.held import standing_in
from cases.services.held_here import Held as FarmHeld
from cases.services.held_here import held_at
from cases.services.selling import Sale


def record_lines(location: Location, start: datetime, end: datetime) -> tuple[MedicineLine, ...]:
    """Return every treatment begun in [start, end) at the farm, corrected ones too, oldest first."""
    rows = _rows(location).filter(first_given_at__gte=start, first_given_at__lt=end)
    return _lines(rows.order_by("first_given_at", "pk"))


def lines_changed_since(location: Location, since: datetime | None) -> tuple[MedicineLine, ...]:
    """Return the treatments written or corrected at or after `since` (all of them for None)."""
    rows = _rows(location)
    if since is not None:
        rows = rows.filter(
            Q(recorded_at__gte=since)
            | Q(corrected_by__recorded_at__gte=since)
            | Q(not_given__signed_at__gte=since)
        )
    return _lines(rows.order_by("recorded_at", "pk"))


def treated_now(location: Location, now: datetime) -> tuple[Treated, ...]:
    """Return the animals and pens of the farm of which something is held now, milk first.

    Whatever holds it: its own treatment, that of a pen it stood in, an unread tag in its pen, a
    failed test, a fresh calving.
    """
    return in_order([_treated(each) for each in held_at(location, now)])


def _treated(row: FarmHeld) -> Treated:
    holds = [hold for sale in row.sales for hold in sale.holds]
    given = {hold.treatment.pk: hold.treatment for hold in holds if isinstance(hold, Withdrawal)}
    return Treated(
        subject_of(row.subject),
        {sale.commodity.value: _held(sale) for sale in row.sales},
        marks="; ".join(dict.fromkeys(each.marks for each in given.values() if each.marks)),
        medicines=tuple(dict.fromkeys(str(each.medicine) for each in given.values())),
    )


def _held(sale: Sale) -> Held:
    rows = [hold for hold in sale.holds if isinstance(hold, Withdrawal)]
    return Held(
        clear_at=sale.clear_at,
        because=sale.because,
        is_milking=sale.commodity == Commodity.MILK and all(row.first_saleable_at for row in rows),
        forbidden=any(row.state == WithdrawalState.NOT_FOR_USE for row in rows),
    )


def _rows(location: Location) -> QuerySet[Treatment]:
    withdrawals = Withdrawal.objects.select_related("signed_by__member").order_by(F("commodity").desc())
    return (
        Treatment.objects.for_practice(location.practice)
        .filter(location=location)
        .select_related(
            "medicine", "animal", "group", "vet__member", "batch_ref", "corrected_by", "not_given"
        )
        .prefetch_related(Prefetch("withdrawals", queryset=withdrawals), "group__stays__animal")
    )


def _lines(rows: Iterable[Treatment]) -> tuple[MedicineLine, ...]:
    return tuple(_line(row) for row in rows)


def _line(row: Treatment) -> MedicineLine:
    later, void = getattr(row, "corrected_by", None), getattr(row, "not_given", None)
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
        never_given=void.reason if void else "",
        never_given_at=void.signed_at if void else None,
    )


def subject_of(subject: Animal | Group) -> Subject:
    """Return an animal or a pen with the tags of those known to stand in it now."""
    if isinstance(subject, Animal):
        return Subject(
            False, subject.pk, subject.farm_number, subject.tag, subject.species, 1, subject.in_milk
        )
    tags = tuple(stay.animal.tag for stay in standing_in(subject))
    return Subject(True, subject.pk, subject.name, "", subject.species, subject.head, subject.in_milk, tags)


def _subject(row: Treatment) -> Subject:
    """Return whom the treatment reached; of a pen those who stood there at any moment of the course."""
    animal, group = row.animal, row.group
    if animal is not None:
        return Subject(False, animal.pk, animal.farm_number, animal.tag, row.species, 1, animal.in_milk)
    assert group is not None
    stood = [stay for stay in group.stays.all() if _stood_during(stay, row)]
    tags = tuple(sorted({stay.animal.tag for stay in stood}))
    return Subject(True, group.pk, group.name, "", row.species, group.head, group.in_milk, tags)


def _stood_during(stay: GroupStay, row: Treatment) -> bool:
    until = stay.until_at
    return stay.from_at <= row.last_given_at and (until is None or until > row.first_given_at)


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
