"""What a form or an address says, read strictly: a value that can be meant, or a refusal naming the field.

A field that was left empty takes `otherwise`; where there is none, it is refused.
"""

import re
from datetime import UTC, date, datetime, time, tzinfo
from decimal import Decimal

from django.http import QueryDict

from rotas.api.parsing import storable
from rotas.errors import BadInput

LONGEST = 2000  # characters of a text, as in the API
YEARS = range(2000, 2100)  # outside of it a year is a slip, and zones cannot reckon with the very ends

WHOLE = re.compile(r"[0-9]{1,9}")
FIGURE = re.compile(r"[0-9]{1,9}(?:[.,][0-9]{1,6})?")
THOUSANDS = re.compile(r"[1-9][0-9]{0,2}(?:,[0-9]{3})+")
TIME = re.compile(r"(?:[01][0-9]|2[0-3]):[0-5][0-9](?::00)?")
DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
CLOCK = r"[T ][0-9]{2}:[0-9]{2}(?::[0-9]{2}(?:\.[0-9]{1,6})?)?"
MOMENT = re.compile(rf"{DAY.pattern}{CLOCK}(?:Z|[+-][0-9]{{2}}:[0-9]{{2}})?")


def refuse_unstorable(values: QueryDict) -> None:
    """Refuse what no person types and the database cannot keep: a NUL or half a character."""
    for name, given in values.lists():
        if not storable(name):
            raise BadInput("A field's name holds a sign that is no letter. Load the page again.", field="")
        if not all(storable(value) for value in given):
            raise BadInput(field=name, problem="this holds a sign that is no letter. Type it anew.")


def text(form: QueryDict, field: str, longest: int = LONGEST) -> str:
    """Return the text without the blanks around it; empty where the field is."""
    value = form.get(field, "").strip()
    if len(value) > longest:
        raise BadInput(field=field, problem=f"write at most {longest} letters; this has {len(value)}.")
    return value


def ticked(form: QueryDict, field: str) -> bool:
    """Say whether the box was ticked."""
    return form.get(field) == "yes"


def row_key(form: QueryDict, field: str) -> int | None:
    """Return the key of the row that was chosen, None for none. Whether it exists, the door says."""
    value = form.get(field, "").strip()
    if not value:
        return None
    if not (value.isascii() and value.isdecimal() and len(value) <= 18):
        raise BadInput(field=field, problem="choose one from the list.")
    return int(value)


def whole_number(form: QueryDict, field: str, *, otherwise: int | None = None) -> int:
    """Return a whole number from 0 up."""
    value = form.get(field, "").strip()
    if not value and otherwise is not None:
        return otherwise
    if not WHOLE.fullmatch(value):
        raise BadInput(field=field, problem="write a whole number, such as 3.")
    return int(value)


def figure(form: QueryDict, field: str) -> Decimal:
    """Return a figure above zero; a comma may stand for the point, but never for thousands."""
    found = _decimal(form.get(field, "").strip(), field)
    if not found:
        raise BadInput(field=field, problem="write a figure above zero, such as 12.5.")
    return found


def hours_if_said(form: QueryDict, field: str) -> Decimal | None:
    """Return hours from zero up, None where the field was left empty."""
    value = form.get(field, "").strip()
    if not value:
        return None
    found = _decimal(value, field)
    if found is None:
        raise BadInput(field=field, problem="write hours such as 5.5, or leave it empty.")
    return found


def _decimal(value: str, field: str) -> Decimal | None:
    """Return what is written as a figure, None if it is none."""
    if THOUSANDS.fullmatch(value):
        problem = (
            f"is {value} more than a thousand, or a fraction? Write it without the comma, or with a point."
        )
        raise BadInput(field=field, problem=problem)
    return Decimal(value.replace(",", ".")) if FIGURE.fullmatch(value) else None


def chosen_day(form: QueryDict, field: str, *, otherwise: date) -> date:
    """Return a day."""
    value = form.get(field, "").strip()
    if not value:
        return otherwise
    try:
        day = date.fromisoformat(value) if DAY.fullmatch(value) else None
    except ValueError:
        day = None
    if day is None or day.year not in YEARS:
        raise BadInput(field=field, problem="write a day such as 2026-03-14.")
    return day


def needed_day(form: QueryDict, field: str) -> date:
    """Return a day that has to be said."""
    if not form.get(field, "").strip():
        raise BadInput(field=field, problem="write a day.")
    return chosen_day(form, field, otherwise=date.min)


def day_if_said(form: QueryDict, field: str) -> date | None:
    """Return a day, None where the field was left empty."""
    return needed_day(form, field) if form.get(field, "").strip() else None


def whole_if_said(form: QueryDict, field: str) -> int | None:
    """Return a whole number from 0 up, None where the field was left empty."""
    return whole_number(form, field) if form.get(field, "").strip() else None


def time_of_day(form: QueryDict, field: str) -> time:
    """Return a time of the practice's clock."""
    value = form.get(field, "").strip()
    if not TIME.fullmatch(value):
        raise BadInput(field=field, problem="write a time such as 18:00.")
    return time.fromisoformat(value)


def local_time(
    form: QueryDict,
    field: str,
    zone: tzinfo,
    *,
    otherwise: datetime | None = None,
    by: datetime | None = None,
) -> datetime:
    """Return a time on the practice's clock as an instant.

    Of an hour that the clocks show twice the first is meant; with `by` the last that is not after it,
    as for a dose: counted from the later hour, a withdrawal is never too short.
    """
    value = form.get(field, "").strip()
    if not value and otherwise is not None:
        return otherwise
    typed = _moment(value)
    if typed is None:
        raise BadInput(field=field, problem="write a day and a time.")
    if typed.tzinfo is not None:
        return typed.astimezone(UTC)
    first, second = (typed.replace(tzinfo=zone, fold=fold).astimezone(UTC) for fold in (0, 1))
    if first.astimezone(zone).replace(tzinfo=None, fold=0) != typed:
        raise BadInput(field=field, problem="the clocks go forward over this time. Choose one that there is.")
    return second if by is not None and first < second <= by else first


def instant(form: QueryDict, field: str, *, otherwise: datetime) -> datetime:
    """Return a moment that the page itself wrote down, its offset from UTC included."""
    value = form.get(field, "").strip()
    if not value:
        return otherwise
    found = _moment(value)
    if found is None or found.tzinfo is None:
        raise BadInput(field=field, problem="this is no moment in time. Load the page again.")
    return found.astimezone(UTC)


def _moment(value: str) -> datetime | None:
    if not MOMENT.fullmatch(value):
        return None
    try:
        found = datetime.fromisoformat(value)
    except ValueError:
        return None
    return found if found.year in YEARS else None
