"""What a message says: one per farm and moment, each animal by its own number and tag."""

from collections.abc import Iterator
from datetime import datetime

from django.conf import settings

from cases.followups import Who
from cases.models import Commodity, Location, Reminder, Treatment, Withdrawal, WithdrawalState
from cases.services.held import governing
from cases.services.telephones import spoken
from cases.withdrawal.clock import clocks_change
from rotas.models import Practice

# Cautions in the words that the practice shows everywhere.
OUTSIDE_LABEL = (
    "This medicine was used outside its label. Only the vet may set the milk and meat dates."
    " The box is empty on purpose."
)
CHECK_TAG = "Both marks on? Check the tag, not the colour. If unsure, leave it out and ring."
CLEAR_TEST = "A clear test does not shorten this time."
NOT_LAW = "Dates here are not law advice. Label, local law and the vet govern; the strictest wins."
CLOCK_CHANGE = "The clocks change in this time: times shown are local; hours counted are real hours."

FARMER = Who.FARMER.value


def addresses_of(reminder: Reminder) -> list[tuple[str, str]]:
    """Return (name, address) of everybody to be told: the farm, who milks, or the practice's own desk.

    A client without an address is told by telephone, so the desk is written to instead.
    """
    if reminder.recheck is not None and reminder.recheck.who != FARMER:
        return [desk(reminder.practice)]
    client = reminder.client or reminder.location.client
    told = []
    if client.email:
        told.append((client.name, client.email))
    if client.milking_contact_email and _is_about_milk(reminder):
        told.append((client.name, client.milking_contact_email))
    return list(dict.fromkeys(told)) or [desk(reminder.practice)]


def desk(practice: Practice) -> tuple[str, str]:
    """Return the practice's own address, or the one that this service sends from."""
    return practice.name, practice.email or settings.DEFAULT_FROM_EMAIL


def _is_about_milk(reminder: Reminder) -> bool:
    if reminder.kind == "given" and reminder.treatment:
        return reminder.treatment.withdrawals.filter(commodity=Commodity.MILK).exists()
    return reminder.withdrawal is not None and reminder.withdrawal.commodity == Commodity.MILK


def subject_of(location: Location, bundle: list[Reminder]) -> str:
    """Return the subject: the farm and what it is about."""
    words = {
        "given": "what was given, and when milk and meat are clear",
        "milk_ends": "first milking that may be sold",
        "meat_ends": "meat withdrawal over",
        "eggs_ends": "egg withdrawal over",
        "changed": "CHANGED withdrawal date",
        "recheck": "recheck due",
    }
    kinds = dict.fromkeys(reminder.kind for reminder in bundle)
    corrects = any(reminder.treatment and reminder.treatment.corrects_id for reminder in bundle)
    parts = [*(["CORRECTION"] if corrects else []), *(words[kind] for kind in kinds)]
    return f"{location.name}: {'; '.join(parts)}"


def body_of(location: Location, bundle: list[Reminder], now: datetime) -> str:
    """Return the whole text: every reminder's lines, then whom to ring and the cautions."""
    lines = [location.name, ""]
    if _needs_telephone(bundle):
        name = location.client.name
        lines += [f"No address for {name}: please tell them by telephone.{_phones(location)}", ""]
    for reminder in bundle:
        lines += [*_lines(reminder), ""]
    lines += _closing(location, bundle)
    return "\n".join(lines).rstrip() + "\n"


def _needs_telephone(bundle: list[Reminder]) -> bool:
    for_farm = [row for row in bundle if row.recheck is None or row.recheck.who == FARMER]
    return any(addresses_of(row) == [desk(row.practice)] for row in for_farm)


def _phones(location: Location) -> str:
    numbers = [f"{spoken(phone.number)} {phone.label}".strip() for phone in location.client.phones.all()]
    return f" {', '.join(numbers)}" if numbers else ""


def _lines(reminder: Reminder) -> Iterator[str]:
    if reminder.recheck is not None:
        yield from _recheck_lines(reminder)
    elif reminder.treatment is not None:
        yield from _given_lines(reminder.treatment)
    elif reminder.withdrawal is not None and reminder.kind == "changed":
        treatment = reminder.withdrawal.treatment
        yield f"CHANGED: {_whom(treatment)}, after {treatment.medicine}."
        yield _until(reminder.withdrawal)
    elif reminder.withdrawal is not None:
        yield from _end_lines(reminder.withdrawal)


def _given_lines(treatment: Treatment) -> Iterator[str]:
    if treatment.corrects_id:
        yield "CORRECTION: this replaces what you were told before."
    at = _moment(treatment.practice, treatment.first_given_at)
    course = f" (course of {treatment.doses}, last on {_moment(treatment.practice, treatment.last_given_at)})"
    yield (
        f"{_whom(treatment)} was given {treatment.medicine}, {treatment.dose_amount.normalize():f}"
        f" {treatment.dose_unit} {treatment.route} on {at}{course if treatment.doses > 1 else ''}."
    )
    if treatment.marks:
        yield f"Marks: {treatment.marks}."
    for own in treatment.withdrawals.order_by("commodity").reverse():
        last = governing(treatment, own.commodity) or own
        yield _until(last)
        if last.pk != own.pk:
            yield f"({last.treatment.medicine}, given earlier or later, holds it longest.)"
    if treatment.off_label:
        yield OUTSIDE_LABEL


def _end_lines(withdrawal: Withdrawal) -> Iterator[str]:
    whom = _whom(withdrawal.treatment)
    marks = f" Marks: {withdrawal.treatment.marks}." if withdrawal.treatment.marks else ""
    if withdrawal.commodity == Commodity.MILK:
        yield f"First milking that may be sold: {_milking(withdrawal)}, {whom}.{marks}"
        yield "Take the marks off only after you have checked the tag."
    else:
        what = "Meat" if withdrawal.commodity == Commodity.MEAT else "Eggs"
        day = _day(withdrawal.practice, withdrawal.first_saleable_at or withdrawal.ends_at)
        yield f"{what} of {whom} may be sold from {day} on.{marks}"
    yield f"Given: {withdrawal.treatment.medicine}."


def _until(withdrawal: Withdrawal) -> str:
    """Say until when one commodity is out."""
    what = {"milk": "Milk", "meat": "Meat", "eggs": "Eggs"}[withdrawal.commodity]
    if withdrawal.state == WithdrawalState.NOT_FOR_USE:
        return f"{what} must not be sold: the label forbids this use. Ask us before anything leaves the farm."
    if withdrawal.ends_at is None:
        return f"{what} is out, with no date yet: only the vet may set it. Keep it out until we tell you."
    if withdrawal.commodity == Commodity.MILK:
        return f"Milk is out until {_milking(withdrawal)}. {CHECK_TAG}"
    day = _day(withdrawal.practice, withdrawal.first_saleable_at or withdrawal.ends_at)
    if withdrawal.commodity == Commodity.EGGS:
        end = _moment(withdrawal.practice, withdrawal.ends_at)
        return f"Eggs laid before {end} stay out, whenever collected; first whole day {day}."
    return f"Not for slaughter before {day}."


def _milking(withdrawal: Withdrawal) -> str:
    if withdrawal.first_saleable_at is None:
        end = _moment(withdrawal.practice, withdrawal.ends_at)
        return f"the first milking that starts at or after {end}"
    local = withdrawal.practice.local(withdrawal.first_saleable_at)
    return f"the {'AM' if local.hour < 12 else 'PM'} milking at {local:%H:%M} on {_date(local)}"


def _recheck_lines(reminder: Reminder) -> Iterator[str]:
    recheck = reminder.recheck
    assert recheck is not None
    due = _moment(recheck.practice, recheck.due_at)
    if recheck.who == FARMER:
        yield f"Please look at {due}: {recheck.action}."
        if recheck.escalate_if:
            yield f"Ring us at once if: {recheck.escalate_if}."
        yield "Answer with fine or not fine. If you are worried, ring."
        return
    yield f"{due}: {Who(recheck.who).word}: {recheck.action}."
    yield f"Seen by {recheck.visit.vet}.{_phones(recheck.location)}"
    if recheck.escalate_if:
        yield f"Escalate if: {recheck.escalate_if}."
    yield "It is done when a result is written, not when a call was tried."


def _closing(location: Location, bundle: list[Reminder]) -> list[str]:
    practice = location.practice
    ring = f"If in doubt leave it out, and ring {practice.name}"
    lines = [f"{ring}: {spoken(practice.phone)}." if practice.phone else f"{ring}."]
    if any(reminder.recheck is None for reminder in bundle):
        lines += [CLEAR_TEST, NOT_LAW]
        lines += [CLOCK_CHANGE] if any(_crosses_change(reminder) for reminder in bundle) else []
        if location.milking_times_checked_on and any(_is_about_milk(reminder) for reminder in bundle):
            checked_on = location.milking_times_checked_on
            lines.append(f"Times for this herd's milking were last checked {checked_on}.")
    return lines


def _crosses_change(reminder: Reminder) -> bool:
    rows = [reminder.withdrawal] if reminder.withdrawal else []
    rows += list(reminder.treatment.withdrawals.all()) if reminder.treatment else []
    return any(
        clocks_change(row.treatment.last_given_at, row.ends_at, row.practice.tz)
        for row in rows
        if row.ends_at
    )


def _whom(treatment: Treatment) -> str:
    if treatment.group is not None:
        return f"{treatment.group.name} (the whole pen)"
    animal = treatment.animal
    assert animal is not None
    return f"No. {animal.farm_number}, tag {animal.tag}" if animal.farm_number else f"Tag {animal.tag}"


def _moment(practice: Practice, instant: datetime | None) -> str:
    assert instant is not None
    local = practice.local(instant)
    return f"{_date(local)} {local:%H:%M}"


def _day(practice: Practice, instant: datetime | None) -> str:
    assert instant is not None
    return _date(practice.local(instant))


def _date(local: datetime) -> str:
    return f"{local:%a} {local.day} {local:%b %Y}"
