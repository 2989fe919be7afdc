"""Warnings that follow from what stands now: a collection or sale tomorrow, a sale entered, a long hold.

They are looked for anew at each scan, a day and a half ahead, so that whatever moved a date meanwhile
needs to tell nobody. Each is written once, however often this runs; at its time it is judged again.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta

from django.db import IntegrityError, transaction
from django.db.models import Q

from cases.models import (
    Animal,
    Commodity,
    Group,
    Location,
    MilkCollection,
    OtherHold,
    Reminder,
    ReminderKind,
    ReminderState,
    Sale,
    Withdrawal,
)
from cases.reminding import times
from cases.reminding.collections import next_collection
from cases.services.held import clear
from cases.services.known import holding_rows
from cases.services.selling import Sale as Answered
from cases.services.selling import answers_to
from rotas.outbox import quiet_of
from rotas.services.telling import tell

AHEAD = timedelta(hours=36)
LONG = timedelta(days=27)  # no month is shorter
Subject = Animal | Group


def foresee(*, now: datetime) -> int:
    """Plan the warnings of the coming day and a half; return how many are new."""
    return sum(1 for reminder in _foreseen(now) if _written(reminder, now))


def _foreseen(now: datetime) -> Iterator[Reminder]:
    yield from _collections(now)
    yield from _sales(now)
    yield from _long_holds(now)


def _written(reminder: Reminder, now: datetime) -> bool:
    """Write it unless it was ever planned; a second scan at the same moment loses."""
    same = Reminder.objects.filter(
        kind=reminder.kind,
        about_at=reminder.about_at,
        commodity=reminder.commodity,
        animal=reminder.animal_id,
        group=reminder.group_id,
        sale=reminder.sale_id,
        withdrawal=reminder.withdrawal_id,
    )
    if same.exists():
        return False
    try:
        with transaction.atomic():
            reminder.save()
            _tell(reminder, now)
    except IntegrityError:
        return False
    return True


def _tell(reminder: Reminder, now: datetime) -> None:
    tell(
        practice=reminder.practice,
        now=now,
        verb="reminder_planned",
        subject=reminder,
        topic="aftercare",
        actor=None,
        sentence=f"To be told: {reminder.get_kind_display()}, {reminder.location}",
        after={"send_at": reminder.send_at, "about_at": reminder.about_at},
    )


def _collections(now: datetime) -> Iterator[Reminder]:
    """Yield a warning for each animal that is still held when the milk is collected."""
    rows = MilkCollection.objects.filter(ended_at=None).select_related("practice", "location__client")
    held = _held_farms()
    for row in rows.filter(location__in=held):
        at = next_collection(row.weekdays, row.at, row.practice.tz, now)
        if at - now > AHEAD:
            continue
        milk = ((subject, Commodity.MILK, at) for subject in held_subjects(row.location, Commodity.MILK))
        for answer in answers_to(milk):
            if not answer.allowed:
                yield _warning(row.location, answer.subject, Commodity.MILK, ReminderKind.NOT_YET, at, now)


def _held_farms() -> set[int]:
    """Return the farms on which any milk is held."""
    held = holding_rows().filter(commodity=Commodity.MILK)
    now_at = ("treatment__animal__location", "treatment__group__location")
    farms = {farm for pair in held.values_list(*now_at) for farm in pair if farm}
    other = OtherHold.objects.filter(commodity=Commodity.MILK).values_list("location", flat=True)
    return farms | set(other)


def held_subjects(location: Location, commodity: str) -> list[Subject]:
    """Return the animals and pens of a farm that something holds, or held until lately."""
    treated = holding_rows().filter(commodity=commodity)
    here = Q(treatment__animal__location=location) | Q(treatment__group__location=location)
    rows = treated.filter(here).select_related("treatment__animal__practice", "treatment__group__practice")
    found = [row.treatment.animal or row.treatment.group for row in rows]
    others = OtherHold.objects.filter(location=location, commodity=commodity)
    found += [
        row.animal or row.group
        for row in others.select_related("animal__location", "animal__practice", "group__location")
    ]
    living = [each for each in found if each is not None and each.ended_at is None]
    return list({(type(each).__name__, each.pk): each for each in living}.values())


def _sales(now: datetime) -> Iterator[Reminder]:
    """Yield what coming sales ask for: the evening before, and three days before the first clear day."""
    rows = Sale.objects.coming(now).select_related("practice", "location__client")
    for sale in rows.prefetch_related("lots__animal__location", "lots__group__location"):
        yield from _of_sale(sale, now)


def foresee_sale(sale: Sale, *, now: datetime) -> int:
    """Plan at once what follows from one sale; return how many warnings are new."""
    return sum(1 for reminder in _of_sale(sale, now) if _written(reminder, now))


def _of_sale(sale: Sale, now: datetime) -> Iterator[Reminder]:
    meat, lots = Commodity.MEAT, (lot.animal or lot.group for lot in sale.lots.all())
    subjects = [subject for subject in lots if subject is not None and subject.ended_at is None]
    when_it_leaves = answers_to((subject, meat, sale.leaves_at) for subject in subjects)
    as_it_stands = answers_to((subject, meat, now) for subject in subjects)
    for then, today in zip(when_it_leaves, as_it_stands, strict=True):
        yield from _of_lot(sale, then, today, now)


def _of_lot(sale: Sale, then: Answered, today: Answered, now: datetime) -> Iterator[Reminder]:
    subject, meat, kind = then.subject, Commodity.MEAT, ReminderKind
    if sale.leaves_at - now <= AHEAD and not then.allowed:
        yield _warning(sale.location, subject, meat, kind.NOT_YET, sale.leaves_at, now, sale)
    clear_at = today.clear_at
    if clear_at is None or clear_at <= now:
        return
    send_at = times.days_before_clear(clear_at, quiet_of(sale.practice), now)
    if send_at - now <= AHEAD and send_at < clear_at:
        yield _reminder(sale.location, subject, meat, kind.MEAT_SOON, clear_at, send_at, sale)


def _warning(
    location: Location,
    subject: Subject,
    commodity: str,
    kind: str,
    at: datetime,
    now: datetime,
    sale: Sale | None = None,
) -> Reminder:
    """Return the warning for the evening before; where that is past, for as soon as may be."""
    quiet, tz = quiet_of(location.practice), location.practice.tz
    evening = times.day_before(at.astimezone(tz).date(), quiet)
    return _reminder(location, subject, commodity, kind, at, times.not_past(evening, quiet, now), sale)


def _reminder(
    location: Location,
    subject: Subject,
    commodity: str,
    kind: str,
    about_at: datetime,
    send_at: datetime,
    sale: Sale | None = None,
    withdrawal: Withdrawal | None = None,
    was_at: datetime | None = None,
) -> Reminder:
    return Reminder(
        practice=location.practice,
        client=location.client,
        location=location,
        kind=kind,
        animal=subject if isinstance(subject, Animal) else None,
        group=subject if isinstance(subject, Group) else None,
        commodity=commodity,
        sale=sale,
        withdrawal=withdrawal,
        about_at=about_at,
        was_at=was_at,
        send_at=send_at,
        state=ReminderState.WAITING,
    )


def _long_holds(now: datetime) -> Iterator[Reminder]:
    """Yield the monthly word about what has been held for more than a month."""
    rows = holding_rows(now).filter(treatment__last_given_at__lt=now - LONG)
    for row in rows.select_related("treatment__animal", "treatment__group", "treatment__location__client"):
        subject, since = row.treatment.animal or row.treatment.group, row.treatment.last_given_at
        mark = times.month_mark(since, row.practice.tz, now)
        if mark is None or clear(row, now) or subject is None or subject.ended_at is not None:
            continue
        send_at = times.not_past(mark, quiet_of(row.practice), now)
        location = row.treatment.location
        kind = ReminderKind.LONG_HOLD
        yield _reminder(location, subject, row.commodity, kind, mark, send_at, None, row, since)
