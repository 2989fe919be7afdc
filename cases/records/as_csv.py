"""The medicine record and the treated list for a spreadsheet: moments as ISO 8601 in the farm's zone."""

import csv
from collections.abc import Iterable, Sequence
from datetime import datetime, tzinfo
from io import StringIO

from cases.records.line import COMMODITIES, Ending, MedicineLine
from cases.records.treated import Held, Treated
from rotas.fatigue_report.as_csv import disarmed

NO_DATE = "no date: the vet must set it"
NOT_FOR_USE = "not for use"

RECORD = (
    "record", "first_given", "last_given", "doses", "tag", "farm_number", "group", "head", "species",
    "medicine", "amount", "unit", "route", "batch", "batch_expires", "diagnosis", "outside_label", "vet",
    "given_by", "milk_out_until", "meat_out_until", "eggs_out_until", "corrects", "corrected_by",
    "never_given", "recorded",
)  # fmt: skip
TREATED = (
    "tag",
    "farm_number",
    "group",
    "head",
    "marks",
    "medicines",
    *(f"{each}_from" for each in COMMODITIES),
)


def record(lines: Iterable[MedicineLine], tz: tzinfo) -> bytes:
    """Return the lines in UTF-8, headed by the names in RECORD; an open end is said in words."""
    return _written(RECORD, (_line(line, tz) for line in lines))


def _line(line: MedicineLine, tz: tzinfo) -> list[object]:
    subject = line.subject
    return [
        line.key, _at(line.first_given_at, tz), _at(line.last_given_at, tz), line.doses,
        *_identity(line), subject.species,
        line.medicine, f"{line.amount.normalize():f}", line.unit, line.route,
        line.batch, line.expires_on or "", line.diagnosis, line.off_label_reason, line.vet, line.given_by,
        *(_until(line.ending(commodity), tz) for commodity in COMMODITIES),
        line.corrects or "", line.corrected_by or "", line.never_given, _at(line.recorded_at, tz),
    ]  # fmt: skip


def _identity(row: MedicineLine | Treated) -> list[object]:
    subject = row.subject
    if subject.is_group:
        return ["", "", subject.name, subject.head]
    return [subject.tag, subject.name, "", 1]


def _until(ending: Ending | None, tz: tzinfo) -> str:
    """Say until when; never an empty cell where something is held, for a blank reads as zero."""
    if ending is None:
        return "gives none"
    if ending.standing == "not_for_use":
        return NOT_FOR_USE
    if ending.clear_at is None:
        return NO_DATE
    return _at(ending.clear_at, tz)


def treated_list(rows: Iterable[Treated], tz: tzinfo) -> bytes:
    """Return who is held, headed by the names in TREATED; each date is the first that may be sold."""
    return _written(TREATED, (_treated(row, tz) for row in rows))


def _treated(row: Treated, tz: tzinfo) -> list[object]:
    dates = [_from(row.held.get(commodity), tz) for commodity in COMMODITIES]
    return [*_identity(row), row.marks, "; ".join(row.medicines), *dates]


def _from(held: Held | None, tz: tzinfo) -> str:
    if held is None:
        return "not held"
    if held.forbidden:
        return NOT_FOR_USE
    return NO_DATE if held.clear_at is None else _at(held.clear_at, tz)


def _at(moment: datetime, tz: tzinfo) -> str:
    return moment.astimezone(tz).isoformat(timespec="minutes")


def _written(head: Sequence[str], rows: Iterable[list[object]]) -> bytes:
    text = StringIO()
    out = csv.writer(text)
    out.writerow(head)
    out.writerows([disarmed(cell) if isinstance(cell, str) else cell for cell in row] for row in rows)
    return text.getvalue().encode()
