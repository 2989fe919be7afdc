"""The same as a text message: short, but with every date whole, or with none and where to read them."""

from datetime import datetime

from cases.models import Commodity, Location, Reminder, Treatment, Withdrawal, WithdrawalState
from cases.reminding.short import Lines, short_text
from cases.services.farm_holds import FarmHolds
from cases.services.recheck_links import short_answer
from cases.services.reminder_words import governed, marks_of, name_of
from cases.services.standing import Judged, subject_of
from cases.services.telephones import spoken


def text_of(location: Location, bundle: list[Judged], *, code: str, link: str) -> str:
    """Return the text of a bundle: at most three parts, unless the farm's own name is longer than one."""
    practice = location.practice
    ring = f"ring {spoken(practice.phone)}" if practice.phone else f"ring {practice.name}"
    animals = len({name_of(subject_of(each.reminder)) for each in bundle if subject_of(each.reminder)})
    count = f"{animals} animals" if animals > 1 else "One animal"
    return short_text(
        Lines(
            head=f"{location.name}:",
            told=[line for each in bundle for line in [line_of(each)] if line],
            instead=f"{count}: too much for a text. Read it before the next milking: {link} or {ring}.",
            tail=f"In doubt leave it out, {ring}." + (f" Read? Answer OK {code}" if code else ""),
        )
    )


def line_of(each: Judged) -> str:
    """Return what is told of one reminder in one short line."""
    reminder = each.reminder
    if reminder.recheck is not None:
        return f"Please look: {reminder.recheck.action}. {short_answer(reminder.recheck)}"
    if reminder.treatment is not None:
        return _given(reminder.treatment, each.holds)
    if reminder.withdrawal is not None and reminder.kind == "changed":
        row, holds = reminder.withdrawal, each.holds
        last = holds.governing(row.treatment, row.commodity) or row
        substance = f"{last.treatment.medicine.substance}:"
        return _joined("CHANGED", _animal(reminder), substance, _date(last, holds))
    if reminder.withdrawal is not None and reminder.kind != "long_hold":
        return _clear(reminder, reminder.withdrawal)
    return _held(each)


def _given(treatment: Treatment, holds: FarmHolds) -> str:
    correction = "CORRECTION" if treatment.corrects_id else ""
    dates = " ".join(_date(last, holds) for _, last in governed(treatment, holds))
    marks = f"Marks: {treatment.marks}." if treatment.marks else ""
    animal = name_of(treatment.animal or treatment.group)
    return _joined(correction, f"{animal}:", f"{treatment.medicine.substance}.", dates, marks)


def _date(row: Withdrawal, holds: FarmHolds) -> str:
    """Say until when it is out; something beside our treatments may hold it beyond that."""
    if holds.beyond(row):
        return f"{row.commodity.upper()} out, also for another reason: no date by text."
    return _until(row)


def _until(row: Withdrawal) -> str:
    word = {"milk": "MILK", "meat": "MEAT", "eggs": "EGGS"}[row.commodity]
    if row.state == WithdrawalState.NOT_FOR_USE:
        return f"{word} NEVER for sale."
    if row.ends_at is None:
        return f"{word} out, no date yet."
    local = row.practice.local(row.first_saleable_at or row.ends_at)
    if row.commodity != Commodity.MILK:
        return f"{word} not before {_day(local)}."
    if row.first_saleable_at is None:
        return f"{word} out: first milking from {local:%H:%M} {_day(local)} on."
    return f"{word} out until {_milking(local)}."


def _clear(reminder: Reminder, row: Withdrawal) -> str:
    first = row.first_saleable_at or row.ends_at
    assert first is not None
    local = row.practice.local(first)
    when = _milking(local) if row.commodity == Commodity.MILK else _day(local)
    word = f"{row.get_commodity_display()} may be sold from {when}."
    marks = f"Marks: {row.treatment.marks}." if row.treatment.marks else ""
    return _joined(f"{_animal(reminder)}:", f"{row.treatment.medicine.substance}.", word, marks, "Check tag.")


def _held(each: Judged) -> str:
    reminder = each.reminder
    animal, what = _animal(reminder), reminder.commodity
    if reminder.kind == "meat_soon":
        first = _day(reminder.practice.local(reminder.about_at))
        return f"{animal}: {what} may be sold from {first}, not before."
    marks = f"Marks: {marks_of(each)}." if marks_of(each) else ""
    date = f"{what.upper()} NOT {_not_before(each)}{_occasion(reminder)}."
    stop = "STOP" if reminder.kind == "held" else ""
    return _joined(stop, f"{animal}:", date, _substance(each), marks)


def _not_before(each: Judged) -> str:
    clear_at = each.answer.clear_at if each.answer else None
    if clear_at is None:
        return "yet: no date"
    local = each.reminder.practice.local(clear_at)
    return f"before {_milking(local) if each.reminder.commodity == Commodity.MILK else _day(local)}"


def _occasion(reminder: Reminder) -> str:
    """Name the sale or the collection that it must not be in."""
    if reminder.kind in ("long_hold", "held"):
        return ""
    at = reminder.practice.local(reminder.about_at)
    return f" ({'sale' if reminder.sale else 'collection'} {at:%H:%M} {_day(at)})"


def _substance(each: Judged) -> str:
    holds = [row for row in (each.answer.holds if each.answer else ()) if isinstance(row, Withdrawal)]
    return f"{holds[-1].treatment.medicine.substance}." if holds else ""


def _animal(reminder: Reminder) -> str:
    return name_of(subject_of(reminder))


def _milking(local: datetime) -> str:
    return f"{'AM' if local.hour < 12 else 'PM'} milking {local:%H:%M} {_day(local)}"


def _day(local: datetime) -> str:
    return f"{local:%a} {local.day} {local:%b}"


def _joined(*words: str) -> str:
    return " ".join(word for word in words if word)
