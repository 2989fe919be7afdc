"""How things stand with a reminder at the moment at which it comes due."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import QuerySet

from cases.models import Animal, Group, Location, Reminder, Treatment, Withdrawal, WithdrawalState
from cases.reminding.times import month_mark
from cases.reminding.worth import ENDS, SALES, Kind, Standing, Verdict, judge
from cases.services.farm_holds import FarmHolds
from cases.services.selling import Sale


@dataclass(frozen=True)
class Judged:
    """A reminder, what is to become of it, and the answer about selling that this rests on, if any."""

    reminder: Reminder
    verdict: Verdict
    answer: Sale | None = None
    farm: FarmHolds | None = None

    @property
    def holds(self) -> FarmHolds:
        """What holds the animals of the farm, read once for all that one scan tells it."""
        return self.farm or FarmHolds(self.reminder.location)


def judged(reminder: Reminder, now: datetime, farm: FarmHolds | None = None) -> Judged:
    """Say whether a reminder that is due is still worth sending, by what holds the produce now.

    `farm` is what was read for it and others together (`farm_holds_for`).
    """
    farm = farm or farm_holds_for(reminder.location, [reminder], now)
    standing, answer = _standing(reminder, now, farm)
    return Judged(reminder, judge(Kind(reminder.kind), standing, now), answer, farm)


def farm_holds_for(location: Location, reminders: Iterable[Reminder], now: datetime) -> FarmHolds:
    """Return what all that one farm is told rests on, in a few queries whatever the number of animals."""
    due = [(reminder, subject) for reminder in reminders if (subject := subject_of(reminder)) is not None]
    moments = [now, *(reminder.about_at for reminder, _ in due)]
    return FarmHolds(location, (subject for _, subject in due), moments)


def subject_of(reminder: Reminder) -> Animal | Group | None:
    """Return the animal or pen that it is about; None for a recheck."""
    treatment = reminder.treatment or (reminder.withdrawal and reminder.withdrawal.treatment)
    row = treatment or reminder
    return row.animal or row.group


def is_void(treatment: Treatment) -> bool:
    """Say whether a treatment was corrected by a newer one, or never given."""
    return hasattr(treatment, "corrected_by") or hasattr(treatment, "not_given")


def _standing(reminder: Reminder, now: datetime, farm: FarmHolds) -> tuple[Standing, Sale | None]:
    kind = Kind(reminder.kind)
    if kind is Kind.RECHECK or reminder.recheck is not None:
        return _of_a_recheck(reminder), None
    if kind is Kind.GIVEN:
        treatment = reminder.treatment
        return Standing(reminder.about_at, replaced=treatment is None or is_void(treatment)), None
    if kind in ENDS or kind is Kind.CHANGED:
        return _of_a_withdrawal(reminder, kind, now, farm)
    return _of_an_animal(reminder, kind, now, farm)


def _of_a_recheck(reminder: Reminder) -> Standing:
    recheck = reminder.recheck
    return Standing(reminder.about_at, recheck_open=recheck is not None and recheck.is_open)


def _of_a_withdrawal(
    reminder: Reminder, kind: Kind, now: datetime, farm: FarmHolds
) -> tuple[Standing, Sale | None]:
    withdrawal, subject = reminder.withdrawal, subject_of(reminder)
    assert withdrawal is not None
    assert subject is not None
    replaced, left = _is_replaced(withdrawal, now), subject.ended_at is not None
    if kind is Kind.CHANGED:
        return Standing(reminder.about_at, replaced=replaced), None
    answer = farm.may_be_sold(subject, withdrawal.commodity, max(reminder.about_at, now))
    standing = Standing(
        reminder.about_at,
        replaced=replaced,
        left=left,
        holder="" if answer.allowed else answer.because[0],
        clear_at=withdrawal.first_saleable_at or withdrawal.ends_at,
    )
    return standing, answer


def _is_replaced(withdrawal: Withdrawal, now: datetime) -> bool:
    return (
        withdrawal.has_given_way(now)
        or withdrawal.state == WithdrawalState.REPLACED
        or is_void(withdrawal.treatment)
    )


def _of_an_animal(
    reminder: Reminder, kind: Kind, now: datetime, farm: FarmHolds
) -> tuple[Standing, Sale | None]:
    """Return how an animal that is held stands at the sale, at the collection, or now."""
    subject = subject_of(reminder)
    assert subject is not None
    at = reminder.about_at if kind in SALES else now
    answer = farm.may_be_sold(subject, reminder.commodity, at)
    standing = Standing(
        reminder.about_at,
        left=subject.ended_at is not None,
        held=not answer.allowed,
        clear_at=answer.clear_at,
        sale_ended=reminder.sale is not None and reminder.sale.cancelled_at is not None,
        newest=kind is not Kind.LONG_HOLD or _is_newest(reminder, now),
    )
    return standing, answer


def _is_newest(reminder: Reminder, now: datetime) -> bool:
    """Say whether no later monthly day of this long hold has come already."""
    assert reminder.was_at is not None
    mark = month_mark(reminder.was_at, reminder.practice.tz, now)
    return mark is None or mark <= reminder.about_at


def with_recheck_facts(rows: QuerySet[Reminder]) -> QuerySet[Reminder]:
    """Do the same where every row is about a recheck: a tenth of the tables."""
    return rows.select_related("practice", "location__client", "client", "recheck__visit__vet__member")


def with_facts(rows: QuerySet[Reminder]) -> QuerySet[Reminder]:
    """Read the rows that a reminder's words come from along with it."""
    treatment = ("medicine", "vet__member", "corrected_by", "not_given")
    animals = ("animal__location", "animal__practice", "group__location", "group__practice")
    related = [f"{root}{part}" for root in ("treatment__", "withdrawal__treatment__") for part in treatment]
    related += [
        f"{root}{part}" for root in ("", "treatment__", "withdrawal__treatment__") for part in animals
    ]
    rows = rows.select_related(
        "practice", "location__client", "client", "recheck__visit__vet__member", "withdrawal__practice",
        "treatment__practice", "withdrawal__treatment__practice", "sale", *related,
    )  # fmt: skip
    return rows.prefetch_related("treatment__withdrawals__practice", "treatment__withdrawals__treatment")
