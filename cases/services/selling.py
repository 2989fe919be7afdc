"""One answer to one question: may this be sold at this instant? Every page, list and message asks here."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from django.db.models import Exists, OuterRef, Q

from cases.models import (
    Animal,
    AnimalEnd,
    Commodity,
    EndKind,
    Group,
    GroupStay,
    HoldCause,
    OtherHold,
    Treatment,
    Withdrawal,
    WithdrawalState,
)
from cases.produce import gives
from cases.services.held import (
    Hold,
    clear,
    holding_rows,
    holds_of,
    other_holds_in,
    other_holds_of,
    pen_holds,
    rank,
    standing_in,
    treated,
)
from cases.services.herd_facts import (
    calvings_of,
    herd_of,
    one_animal,
    standing_treatments,
    stood_during,
)
from cases.withdrawal.clock import shown, shown_day
from cases.withdrawal.colostrum import clear_of_colostrum

LOOKED_BACK = timedelta(days=400)
"""A treatment this old whose period nobody has worked out is asked about no more. [cp]"""

GOES_BY_RECORD = "As far as this practice's records go; the keeper's own medicine record counts as well."


class Answer(StrEnum):
    """Only `yes` lets anything leave the farm."""

    YES = "yes"
    NO = "no"
    UNKNOWN = "unknown"


@dataclass(frozen=True)
class Sale:
    """Whether one commodity may be sold at `at`, and why. `clear_at` is None where no date is known.

    Milk goes by the start of its milking, eggs by when they were laid, meat by the day it leaves.
    """

    subject: Animal | Group
    commodity: Commodity
    at: datetime
    answer: Answer
    clear_at: datetime | None
    because: tuple[str, ...]
    holds: tuple[Hold, ...] = ()

    @property
    def allowed(self) -> bool:
        """Only a plain yes is one."""
        return self.answer is Answer.YES


def may_be_sold(subject: Animal | Group, commodity: str, at: datetime) -> Sale:
    """Return whether the produce may be sold at the instant: yes, no, or unknown, which is no yes."""
    what = Commodity(commodity)
    holds = holds_at(subject, what, at)
    never = _never(subject, what, at)
    fresh = _colostrum(subject, what, at)
    if holds or never or fresh:
        because = (*never, *(words for words, _ in fresh), *(sentence_of(row) for row in reversed(holds)))
        moments = [_clear_from(row) for row in holds] + [moment for _, moment in fresh]
        return Sale(subject, what, at, Answer.NO, _latest(moments, bool(never)), because, tuple(holds))
    unknown = tuple(_unknown(subject, what, at))
    if unknown:
        return Sale(subject, what, at, Answer.UNKNOWN, None, unknown)
    return Sale(subject, what, at, Answer.YES, at, (GOES_BY_RECORD,))


def sales_of(subject: Animal | Group, at: datetime) -> list[Sale]:
    """Return the answer for each commodity that the animal or pen could give, milk first."""
    produce = could_give(subject)
    return [may_be_sold(subject, commodity, at) for commodity in Commodity if commodity in produce]


def could_give(subject: Animal | Group) -> frozenset[str]:
    """Return what the animal or pen could give for people to eat or drink."""
    sells = subject.location.milking_system != "none"
    return gives(subject.species, in_milk=subject.in_milk, farm_sells_milk=sells)


def holds_at(subject: Animal | Group, commodity: Commodity, at: datetime) -> list[Hold]:
    """Return every hold that does not let produce of that moment go, the one that governs last."""
    rows: list[Hold]
    if isinstance(subject, Animal):
        rows = [*holds_of(subject, commodity, at=at), *other_holds_of(subject, at=at)]
    else:
        rows = [*pen_holds(subject, commodity, at=at), *other_holds_in(subject, at=at)]
    kept = [row for row in rows if row.commodity == commodity and not clear(row, at)]
    return sorted(kept, key=lambda row: (rank(row), type(row).__name__, row.pk))


def _clear_from(row: Hold) -> datetime | None:
    return row.first_saleable_at or row.ends_at


def _latest(moments: list[datetime | None], never: bool) -> datetime | None:
    known = [moment for moment in moments if moment is not None]
    return None if never or len(known) < len(moments) else max(known, default=None)


def _never(subject: Animal | Group, commodity: Commodity, at: datetime) -> tuple[str, ...]:
    """Say why it is never sold: what died or was put down is dead stock, whatever the dates."""
    if not isinstance(subject, Animal):
        return ()
    dead = (EndKind.DIED, EndKind.EUTHANISED)
    ends = AnimalEnd.objects.filter(animal__in=one_animal(subject), undone_at=None, kind__in=dead)
    return tuple(f"It {end.get_kind_display()}: dead stock only, never for food." for end in ends)


def _colostrum(
    subject: Animal | Group, commodity: Commodity, at: datetime
) -> tuple[tuple[str, datetime | None], ...]:
    """Say that the first milk after a calving stays out of the tank, with the first milking after it."""
    if commodity != Commodity.MILK or not isinstance(subject, Animal):
        return ()
    calving = calvings_of(subject).filter(calved_at__lte=at).last()
    if calving is None:
        return ()
    tz, calved_at = subject.practice.tz, calving.calved_at
    moment = clear_of_colostrum(calved_at, herd_of(subject.location), tz)
    words = f"Colostrum: she calved {shown(calved_at, tz)}; at least the first 8 milkings stay out [S35]."
    return () if at >= moment else ((words, moment),)


def _unknown(subject: Animal | Group, commodity: Commodity, at: datetime) -> Iterator[str]:
    """Yield what nobody has written down and would have to be known before anything is sold."""
    if isinstance(subject, Animal):
        yield from _not_worked_out(subject, treated(subject, prefix=""), commodity, at)
        yield from _perhaps_treated(subject, commodity, at)
        return
    yield from _not_worked_out(subject, Q(group=subject), commodity, at)
    for stay in standing_in(subject, at):
        yield from _not_worked_out(stay.animal, treated(stay.animal, prefix=""), commodity, at)


def _not_worked_out(subject: Animal | Group, reached: Q, commodity: Commodity, at: datetime) -> Iterator[str]:
    """Yield treatments for which this commodity was not thought of when they were written."""
    if commodity not in could_give(subject):
        return
    own = Withdrawal.objects.filter(treatment=OuterRef("pk"), commodity=commodity)
    rows = standing_treatments().filter(reached, practice=subject.practice_id)
    rows = rows.filter(~Exists(own), last_given_at__gt=at - LOOKED_BACK).select_related("medicine")
    for row in rows.distinct().order_by("pk"):
        yield f"{row.medicine} ({subject}): nobody has worked out its {commodity} time. Ask the vet."


def _perhaps_treated(animal: Animal, commodity: Commodity, at: datetime) -> Iterator[str]:
    """Yield pens of the farm that were treated while nobody wrote who stood there, perhaps this one."""
    rows = holding_rows(at).filter(
        treatment__location=animal.location_id,
        treatment__group__isnull=False,
        treatment__species=animal.species,
        commodity=commodity,
    )
    for row in rows.order_by("pk"):
        if not clear(row, at) and _may_have_stood_there(animal, row.treatment):
            yield (
                f"{row.treatment.group} was given {row.treatment.medicine} and nobody wrote which animals "
                "stood there. Write where this one stood; until then it is held with them."
            )


def _may_have_stood_there(animal: Animal, treatment: Treatment) -> bool:
    group = treatment.group
    assert group is not None
    first, last = treatment.first_given_at, treatment.last_given_at
    if group.all_identified and stood_during(group, first, last).count() >= group.head:
        return False
    if animal.in_milk and not group.in_milk and not calvings_of(animal).filter(calved_at__gte=first).exists():
        return False
    stays = GroupStay.objects.filter(animal__in=one_animal(animal))
    elsewhere = stays.exclude(group=group).filter(from_at__lte=first).exclude(until_at__lte=last)
    return not elsewhere.exists()


def sentence_of(row: Hold) -> str:
    """Say what one hold is and until when, in the farm's own time."""
    tz, what = row.practice.tz, row.get_commodity_display()
    if isinstance(row, OtherHold):
        until = f"until {shown(row.ends_at, tz)}" if row.ends_at else "until a vet sets a date"
        return f"{what} held {until}: {HoldCause(row.cause).label}{f', {row.reason}' if row.reason else ''}."
    medicine, whom = row.treatment.medicine, row.treatment.animal or row.treatment.group
    if row.state == WithdrawalState.NOT_FOR_USE:
        return f"{what} must not be sold: the label of {medicine} forbids this use ({whom})."
    if row.ends_at is None:
        return f"{what} held without a date after {medicine} ({whom}): {_missing(row)}."
    return f"{what} held after {medicine} ({whom}) until {_until(row)}."


def _missing(row: Withdrawal) -> str:
    words = {"calving": "record the calving", "water temperature": "give the water's temperature"}
    return words.get(row.waits_for, "only the vet may set it")


def _until(row: Withdrawal) -> str:
    tz, first = row.practice.tz, row.first_saleable_at
    assert row.ends_at is not None
    if row.commodity == Commodity.MILK:
        return (
            f"the milking of {shown(first, tz)}" if first else f"a milking from {shown(row.ends_at, tz)} on"
        )
    return shown_day((first or row.ends_at).astimezone(tz).date())
