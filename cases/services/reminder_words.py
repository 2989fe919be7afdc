"""What a message says of each thing, in full: animal by its own number and tag, clock time and milking."""

from collections.abc import Iterator
from datetime import datetime

from django.conf import settings

from cases.followups import Who
from cases.models import (
    Animal,
    Commodity,
    Group,
    Location,
    OtherHold,
    Reminder,
    SaleKind,
    Treatment,
    Withdrawal,
    WithdrawalState,
)
from cases.services.farm_holds import FarmHolds
from cases.services.herd_facts import is_identified
from cases.services.recheck_links import answer_lines
from cases.services.recipients import FARMER
from cases.services.selling import sentence_of
from cases.services.standing import Judged, subject_of
from cases.services.telephones import spoken
from rotas.models import Practice

# Cautions in the words that the practice shows everywhere.
OUTSIDE_LABEL = (
    "This medicine was used outside its label. Only the vet may set the milk and meat dates."
    " The box is empty on purpose."
)
CHECK_TAG = "Both marks on? Check the tag, not the colour. If unsure, leave it out and ring."
PRODUCE = {"milk": "Milk", "meat": "Meat", "eggs": "Eggs"}


def lines_of(each: Judged) -> Iterator[str]:
    """Return what is told of one reminder."""
    reminder = each.reminder
    if reminder.recheck is not None:
        yield from _recheck_lines(reminder)
    elif reminder.treatment is not None:
        yield from _given_lines(reminder.treatment, each.holds)
    elif reminder.withdrawal is not None and reminder.kind == "changed":
        yield from _changed_lines(reminder.withdrawal, each.holds)
    elif reminder.withdrawal is not None and reminder.kind != "long_hold":
        yield from _end_lines(reminder.withdrawal, late=each.verdict.late)
    else:
        yield from _held_lines(each)


def _given_lines(treatment: Treatment, holds: FarmHolds) -> Iterator[str]:
    if treatment.corrects_id:
        yield "CORRECTION: this replaces what you were told before."
    at = moment(treatment.practice, treatment.first_given_at)
    course = f" (course of {treatment.doses}, last on {moment(treatment.practice, treatment.last_given_at)})"
    yield (
        f"{whom(treatment)} was given {treatment.medicine}, {treatment.dose_amount.normalize():f}"
        f" {treatment.dose_unit} {treatment.route} on {at}{course if treatment.doses > 1 else ''}."
    )
    if treatment.marks:
        yield f"Marks: {treatment.marks}."
    for own, last in governed(treatment, holds):
        yield from _governing_lines(own, last, holds)
    if treatment.off_label:
        yield OUTSIDE_LABEL


def governed(treatment: Treatment, holds: FarmHolds) -> list[tuple[Withdrawal, Withdrawal]]:
    """Return each withdrawal of a treatment, milk first, with the one that holds that produce longest."""
    rows = [row for row in treatment.withdrawals.all() if row.gives_way_at is None]
    rows.sort(key=lambda row: row.commodity, reverse=True)
    return [(own, holds.governing(treatment, own.commodity) or own) for own in rows]


def _governing_lines(own: Withdrawal, last: Withdrawal, holds: FarmHolds) -> Iterator[str]:
    """Say the date that governs, and whatever goes beyond it without a treatment of ours."""
    yield until(last)
    if last.pk != own.pk:
        yield f"({last.treatment.medicine}, given earlier or later, holds it longest.)"
    for other in holds.beyond(last):
        yield f"NOT THEN EITHER: {sentence_of(other)}"


def _changed_lines(withdrawal: Withdrawal, holds: FarmHolds) -> Iterator[str]:
    treatment = withdrawal.treatment
    yield f"CHANGED: {whom(treatment)}, after {treatment.medicine}. Forget the date that you had before."
    last = holds.governing(treatment, withdrawal.commodity) or withdrawal
    yield from _governing_lines(withdrawal, last, holds)
    if treatment.marks:
        yield f"Marks: {treatment.marks}."


def _end_lines(withdrawal: Withdrawal, *, late: bool) -> Iterator[str]:
    animal = whom(withdrawal.treatment)
    marks = f" Marks: {withdrawal.treatment.marks}." if withdrawal.treatment.marks else ""
    if withdrawal.commodity == Commodity.MILK:
        what = "May be sold since" if late else "First milking that may be sold:"
        yield f"{what} {milking(withdrawal)}, {animal}.{marks}"
        yield "Take the marks off only after you have checked the tag."
    else:
        since = day(withdrawal.practice, withdrawal.first_saleable_at or withdrawal.ends_at)
        yield f"{PRODUCE[withdrawal.commodity]} of {animal} may be sold from {since} on.{marks}"
    yield f"Given: {withdrawal.treatment.medicine}."


def _held_lines(each: Judged) -> Iterator[str]:
    """Say what is not to be sold yet, at which sale or collection, and what holds it."""
    reminder, answer = each.reminder, each.answer
    assert answer is not None
    animal, what = name_of(subject_of(reminder)), PRODUCE[reminder.commodity].lower()
    at = moment(reminder.practice, reminder.about_at)
    if reminder.kind == "meat_soon":
        first = day(reminder.practice, reminder.about_at)
        yield f"Soon clear: {what} of {animal} may be sold from {first} on, not before."
        if reminder.sale is not None:
            yield f"It is entered to leave on {moment(reminder.practice, reminder.sale.leaves_at)}."
    elif reminder.kind == "long_hold":
        yield f"STILL HELD: {what} of {animal}."
    elif reminder.kind == "held":
        yield from _newly_held(reminder, animal, what)
    elif reminder.sale is not None:
        kind = SaleKind(reminder.sale.kind).label
        yield f"NOT YET: {animal} is entered to leave {kind} on {at} and must not go for food."
    else:
        yield f"NOT YET: milk of {animal} must not be in the collection of {at}."
    yield from answer.because
    marks = marks_of(each)
    if marks:
        yield f"Marks: {marks}. {CHECK_TAG}"


def _newly_held(reminder: Reminder, animal: str, what: str) -> Iterator[str]:
    """Say that it is held from now on; what left the farm before that is rung about."""
    since = moment(reminder.practice, reminder.about_at)
    yield f"STOP: keep the {what} of {animal} out. It is held since {since}."
    if reminder.was_at is not None:
        yield "CHANGED: this is later than the date that you had before. Forget that one."
    if reminder.group is not None and not is_identified(reminder.group):
        yield f"Not every tag in {reminder.group.name} is known, so all of it is held."
    yield "If any has left the farm already, ring us now."


def marks_of(each: Judged) -> str:
    """Return the marks of the treatment that holds it, empty where none is on record."""
    holds = each.answer.holds if each.answer else ()
    marks = [row.treatment.marks for row in reversed(holds) if not isinstance(row, OtherHold)]
    return next((found for found in marks if found), "")


def until(withdrawal: Withdrawal) -> str:
    """Say until when one commodity is out."""
    what = PRODUCE[withdrawal.commodity]
    if withdrawal.state == WithdrawalState.NOT_FOR_USE:
        return f"{what} must not be sold: the label forbids this use. Ask us before anything leaves the farm."
    if withdrawal.ends_at is None:
        return f"{what} is out, with no date yet: only the vet may set it. Keep it out until we tell you."
    if withdrawal.commodity == Commodity.MILK:
        return f"Milk is out until {milking(withdrawal)}. {CHECK_TAG}"
    first = day(withdrawal.practice, withdrawal.first_saleable_at or withdrawal.ends_at)
    if withdrawal.commodity == Commodity.EGGS:
        end = moment(withdrawal.practice, withdrawal.ends_at)
        return f"Eggs laid before {end} stay out, whenever collected; first whole day {first}."
    return f"Not for slaughter before {first}."


def milking(withdrawal: Withdrawal) -> str:
    """Name the first milking that may be sold, by its clock time and as AM or PM."""
    if withdrawal.first_saleable_at is None:
        end = moment(withdrawal.practice, withdrawal.ends_at)
        return f"the first milking that starts at or after {end}"
    local = withdrawal.practice.local(withdrawal.first_saleable_at)
    return f"the {'AM' if local.hour < 12 else 'PM'} milking at {local:%H:%M} on {date_of(local)}"


def _recheck_lines(reminder: Reminder) -> Iterator[str]:
    recheck = reminder.recheck
    assert recheck is not None
    due = moment(recheck.practice, recheck.due_at)
    if recheck.who == FARMER:
        yield f"Please look at {due}: {recheck.action}."
        if recheck.escalate_if:
            yield f"Ring us at once if: {recheck.escalate_if}."
        yield from answer_lines(recheck, settings.SITE_ADDRESS)
        yield "If you are worried, do not write: ring."
        return
    yield f"{due}: {Who(recheck.who).word}: {recheck.action}."
    yield f"Seen by {recheck.visit.vet}.{phones(recheck.location)}"
    if recheck.escalate_if:
        yield f"Escalate if: {recheck.escalate_if}."
    yield "It is done when a result is written, not when a call was tried."


def phones(location: Location) -> str:
    """Return the client's numbers with their labels, after a blank; empty where there are none."""
    numbers = [f"{spoken(phone.number)} {phone.label}".strip() for phone in location.client.phones.all()]
    return f" {', '.join(numbers)}" if numbers else ""


def whom(treatment: Treatment) -> str:
    """Name the animal by the farm's own number and the full tag, or the pen."""
    return name_of(treatment.animal or treatment.group)


def name_of(subject: Animal | Group | None) -> str:
    """Name an animal by the farm's own number and the full tag, or the pen."""
    assert subject is not None
    if isinstance(subject, Group):
        return f"{subject.name} (the whole pen)"
    return f"No. {subject.farm_number}, tag {subject.tag}" if subject.farm_number else f"Tag {subject.tag}"


def moment(practice: Practice, instant: datetime | None) -> str:
    """Say an instant on the practice's clock."""
    assert instant is not None
    local = practice.local(instant)
    return f"{date_of(local)} {local:%H:%M}"


def day(practice: Practice, instant: datetime | None) -> str:
    """Say the local day of an instant."""
    assert instant is not None
    return date_of(practice.local(instant))


def date_of(local: datetime) -> str:
    """Say a day with its weekday, as on a wall calendar."""
    return f"{local:%a} {local.day} {local:%b %Y}"
