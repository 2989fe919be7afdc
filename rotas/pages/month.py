"""The month of the whole practice: a sheet for the wall, and the same on one time axis."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from rotas.models import Practice, Role, Shift, ShiftRole, Vet
from rotas.pages.days import SHORT, Axis, Bar, days, holidays_of, month_of
from rotas.pages.fields import chosen_day
from rotas.pages.member import member_page
from rotas.pages.rota_words import times, turns_in_words

NAMED = 7  # on the axis every seventh day has its name


@dataclass(frozen=True)
class Turns:
    """The vets of a cell who are on for the same hours at the same place."""

    vets: tuple[Vet, ...]
    words: str


@dataclass(frozen=True)
class Cell:
    """One role on one day. Nobody on call is said; that no day vet is on is left blank."""

    word: str
    short: str
    turns: tuple[Turns, ...]
    said_empty: bool


@dataclass(frozen=True)
class Row:
    """One day of the sheet; its cells hold the duties that begin on the day."""

    day: date
    holiday: str
    is_weekend: bool
    is_today: bool
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class Lane:
    """One vet on the month's axis, with their duties counted in words."""

    vet: Vet
    words: str
    bars: tuple[Bar, ...]


@member_page(Role.RECEPTION, Role.VET)
@require_GET
def show(request: HttpRequest) -> HttpResponse:
    """Show the month of the day asked for, this month unless one is said."""
    now, practice = timezone.now(), request.user.practice
    today = practice.local(now).date()
    first, last = month_of(chosen_day(request.GET, "day", otherwise=today))
    axis = Axis(practice, first, last)
    rows = Shift.objects.for_practice(practice).within(axis.start, axis.end)
    shifts = list(rows.select_related("vet__member", "practice").in_order())
    shown: dict[str, Any] = {
        "first": first,
        "before": first - timedelta(days=1),
        "after": last + timedelta(days=1),
        "rows": _rows(practice, first, last, shifts, today),
        "lanes": _lanes(axis, shifts),
        "ticks": axis.ticks(NAMED),
        "roles": ShiftRole.choices,
        "shows_today": first <= today <= last,
    }
    return render(request, "rotas/month.html", shown)


def _rows(practice: Practice, first: date, last: date, shifts: list[Shift], today: date) -> list[Row]:
    named = holidays_of(practice, first, last)
    begun: dict[tuple[date, str], dict[str, list[Vet]]] = defaultdict(dict)
    for shift in shifts:
        words = f"{times(shift)}, {shift.site}" if shift.site else times(shift)
        day = practice.local(shift.starts_at).date()
        begun[day, shift.role].setdefault(words, []).append(shift.vet)
    return [
        Row(
            day=day,
            holiday=named.get(day, ""),
            is_weekend=day.weekday() >= 5,
            is_today=day == today,
            cells=tuple(_cell(role, begun[day, role]) for role in ShiftRole.values),
        )
        for day in days(first, last)
    ]


def _cell(role: str, begun: Mapping[str, list[Vet]]) -> Cell:
    turns = tuple(Turns(tuple(vets), words) for words, vets in begun.items())
    return Cell(ShiftRole(role).label, SHORT[ShiftRole(role)], turns, role != ShiftRole.DAY)


def _lanes(axis: Axis, shifts: Iterable[Shift]) -> list[Lane]:
    """Return a lane for every vet who works here or has a duty; in the order of their codes."""
    working = Vet.objects.for_practice(axis.practice).filter(active=True).select_related("member")
    vets = {vet.pk: vet for vet in working}
    duties: dict[int, list[Shift]] = {pk: [] for pk in vets}
    for shift in shifts:
        vets.setdefault(shift.vet_id, shift.vet)
        duties.setdefault(shift.vet_id, []).append(shift)
    return [
        Lane(vet, _counted(axis, duties[vet.pk]), tuple(axis.bars(duties[vet.pk])))
        for vet in sorted(vets.values(), key=lambda vet: (len(vet.code), vet.code))
    ]


def _counted(axis: Axis, duties: list[Shift]) -> str:
    """Count the duties that begin in the month."""
    return turns_in_words(Counter(duty.role for duty in duties if duty.starts_at >= axis.start))
