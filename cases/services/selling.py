"""One answer to one question: may this be sold at this instant? Every page, list and message asks here."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from django.db.models import prefetch_related_objects

from cases.models import (
    Animal,
    Commodity,
    EndKind,
    Group,
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
    holds_of,
    other_holds_in,
    other_holds_of,
    pen_holds,
    rank,
    was_given,
)
from cases.services.herd_facts import herd_of, stood_during
from cases.services.known import LOOKED_BACK, Known
from cases.withdrawal.clock import shown, shown_day
from cases.withdrawal.colostrum import clear_of_colostrum

Subject = Animal | Group
Question = tuple[Subject, str, datetime]

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
    (sale,) = answers_to([(subject, commodity, at)])
    return sale


def sales_of(subject: Animal | Group, at: datetime) -> list[Sale]:
    """Return the answer for each commodity that the animal or pen could give, milk first."""
    (sales,) = sales_of_all([subject], at)
    return sales


def sales_of_all(subjects: Iterable[Subject], at: datetime) -> list[list[Sale]]:
    """Return the answers for each of them, in a few queries for all together."""
    asked = list(subjects)
    known = known_of(asked, [at])
    return [
        [judged_on(known, each, what, at) for what in Commodity if what in could_give(each)] for each in asked
    ]


def answers_to(questions: Iterable[Question]) -> list[Sale]:
    """Return the answer to each question, in a few queries for all together."""
    asked = list(questions)
    known = known_of([subject for subject, _, _ in asked], [at for _, _, at in asked])
    return [judged_on(known, *question) for question in asked]


def known_of(subjects: Iterable[Subject], moments: Iterable[datetime]) -> Known:
    """Return what the answers about these animals and pens rest on, with their farms."""
    known = Known(subjects, moments)
    prefetch_related_objects(known.animals, "location", "practice")
    prefetch_related_objects(known.pens, "location", "practice")
    return known


def judged_on(known: Known, subject: Subject, commodity: str, at: datetime) -> Sale:
    """Return the answer that follows from what is known: the one judgement, whoever asks for how many."""
    what = Commodity(commodity)
    holds = holds_at(subject, what, at, known)
    never = _never(subject, known)
    fresh = _colostrum(subject, what, at, known)
    if holds or never or fresh:
        said = (_said(row, known) for row in reversed(holds))
        because = (*never, *(words for words, _ in fresh), *said)
        moments = [_clear_from(row) for row in holds] + [moment for _, moment in fresh]
        return Sale(subject, what, at, Answer.NO, _latest(moments, bool(never)), because, tuple(holds))
    unknown = tuple(_unknown(subject, what, at, known))
    if unknown:
        return Sale(subject, what, at, Answer.UNKNOWN, None, unknown)
    return Sale(subject, what, at, Answer.YES, at, (GOES_BY_RECORD,))


def could_give(subject: Animal | Group) -> frozenset[str]:
    """Return what the animal or pen could give for people to eat or drink."""
    sells = subject.location.milking_system != "none"
    return gives(subject.species, in_milk=subject.in_milk, farm_sells_milk=sells)


def holds_at(
    subject: Animal | Group, commodity: Commodity, at: datetime, known: Known | None = None
) -> list[Hold]:
    """Return every hold that does not let produce of that moment go, the one that governs last."""
    known = known or Known([subject], [at])
    rows: list[Hold]
    if isinstance(subject, Animal):
        rows = [*holds_of(subject, commodity, at=at, known=known)]
        rows += other_holds_of(subject, at=at, known=known)
    else:
        rows = [*pen_holds(subject, commodity, at=at, known=known)]
        rows += other_holds_in(subject, at=at, known=known)
    kept = [row for row in rows if row.commodity == commodity and not clear(row, at)]
    return sorted(kept, key=lambda row: (rank(row), type(row).__name__, row.pk))


def _clear_from(row: Hold) -> datetime | None:
    return row.first_saleable_at or row.ends_at


def _latest(moments: list[datetime | None], never: bool) -> datetime | None:
    known = [moment for moment in moments if moment is not None]
    return None if never or len(known) < len(moments) else max(known, default=None)


def _never(subject: Animal | Group, known: Known) -> tuple[str, ...]:
    """Say why it is never sold: what died or was put down is dead stock, whatever the dates."""
    if not isinstance(subject, Animal):
        return ()
    ends = [end for end in known.ends(subject) if end.kind in (EndKind.DIED, EndKind.EUTHANISED)]
    return tuple(f"It {end.get_kind_display()}: dead stock only, never for food." for end in ends)


def _colostrum(
    subject: Animal | Group, commodity: Commodity, at: datetime, known: Known
) -> tuple[tuple[str, datetime | None], ...]:
    """Say that the first milk after a calving stays out of the tank, with the first milking after it."""
    if commodity != Commodity.MILK or not isinstance(subject, Animal):
        return ()
    calvings = [calving for calving in known.calvings(subject) if calving.calved_at <= at]
    if not calvings:
        return ()
    tz, calved_at = subject.practice.tz, calvings[-1].calved_at
    moment = clear_of_colostrum(calved_at, herd_of(subject.location), tz)
    words = f"Colostrum: she calved {shown(calved_at, tz)}; at least the first 8 milkings stay out [S35]."
    return () if at >= moment else ((words, moment),)


def _unknown(subject: Animal | Group, commodity: Commodity, at: datetime, known: Known) -> Iterator[str]:
    """Yield what nobody has written down and would have to be known before anything is sold."""
    if isinstance(subject, Animal):
        yield from _not_worked_out(subject, commodity, at, known)
        yield from _perhaps_treated(subject, commodity, at, known)
        return
    yield from _not_worked_out(subject, commodity, at, known)
    for stay in known.standing_in(subject, at):
        yield from _not_worked_out(stay.animal, commodity, at, known)


def _not_worked_out(
    subject: Animal | Group, commodity: Commodity, at: datetime, known: Known
) -> Iterator[str]:
    """Yield treatments for which this commodity was not thought of when they were written."""
    if commodity not in could_give(subject):
        return
    for row in _not_thought_of(subject, known):
        of_ours = row.practice_id == subject.practice_id
        if of_ours and getattr(row, f"without_{commodity.value}") and row.last_given_at > at - LOOKED_BACK:
            yield f"{row.medicine} ({subject}): nobody has worked out its {commodity} time. Ask the vet."


def _not_thought_of(subject: Animal | Group, known: Known) -> list[Treatment]:
    """Return the treatments that reached it for which some commodity was not thought of, the first first."""
    if isinstance(subject, Group):
        rows = known.treatments_for((), [subject.pk])
    else:
        rows = [row for row in known.treatments_for([subject]) if was_given(subject, row, known)]
    return sorted(rows, key=lambda row: row.pk)


def _perhaps_treated(animal: Animal, commodity: Commodity, at: datetime, known: Known) -> Iterator[str]:
    """Yield pens of the farm that were treated while nobody wrote who stood there, perhaps this one."""
    for row in known.treated_pens.get(animal.location_id, ()):
        if row.commodity != commodity or row.treatment.species != animal.species:
            continue
        if row.has_given_way(at) or clear(row, at):
            continue
        if _may_have_stood_there(animal, row.treatment, known):
            yield (
                f"{row.treatment.group} was given {row.treatment.medicine} and nobody wrote which animals "
                "stood there. Write where this one stood; until then it is held with them."
            )


def _may_have_stood_there(animal: Animal, treatment: Treatment, known: Known) -> bool:
    group = treatment.group
    assert group is not None
    first, last = treatment.first_given_at, treatment.last_given_at
    if group.all_identified and len(stood_during(known.courses.get(group.pk, ()), first, last)) >= group.head:
        return False
    calved_since = any(calving.calved_at >= first for calving in known.calvings(animal))
    if animal.in_milk and not group.in_milk and not calved_since:
        return False
    stays = [stay for stay in known.stays(animal) if stay.group_id != group.pk]
    return not any(stay.throughout(first, last) for stay in stays)


def _said(row: Hold, known: Known) -> str:
    """Return the sentence of a hold; of what holds a whole pen it is made once."""
    key = (type(row).__name__, row.pk)
    if key not in known.said:
        known.said[key] = sentence_of(row)
    return known.said[key]


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
