"""The cover that rotas are built for: what stands, added and ended by a manager."""

from calendar import day_name, month_name
from collections.abc import Callable
from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from rotas.cover_words import cover_in_words, season_in_words, weekdays_in_words
from rotas.errors import BadInput, DeskError
from rotas.models import CoverNeed, Role, ShiftRole
from rotas.models.cover import SEASON
from rotas.pages.fields import text, ticked, time_of_day, whole_if_said, whole_number
from rotas.pages.member import member_page
from rotas.pages.once import done_once
from rotas.services.cover import add_cover, end_cover, start_with_common_cover

HERE = "/rota/cover/"
HOLIDAYS = {"both": None, "without": False, "only": True}
HOLIDAY_WORDS = (
    ("both", "the same on bank holidays"),
    ("without", "not on bank holidays"),
    ("only", "on bank holidays only"),
)
MONTHS = [("", "all year"), *((number, month_name[number]) for number in range(1, 13))]
WEEKDAYS = [(str(number), name) for number, name in enumerate(day_name)]
LONGEST_SITE = 60  # letters


@member_page(Role.MANAGER)
@require_http_methods(["GET", "POST"])
def show(request: HttpRequest) -> HttpResponse:
    """Show the cover that stands, and the form for more."""
    if request.method == "GET":
        return render(request, "rotas/cover.html", _shown(request))
    return _done(request, lambda now: _add(request, now))


def _done(request: HttpRequest, make: Callable[[datetime], tuple[str, str]]) -> HttpResponse:
    now = timezone.now()
    try:
        return done_once(request, now, lambda: make(now))
    except DeskError as error:
        return render(request, "rotas/cover.html", _shown(request) | {"error": error}, status=error.status)


def _shown(request: HttpRequest) -> dict[str, Any]:
    rows = CoverNeed.objects.for_practice(request.user.practice)
    standing = list(rows.standing())
    return {
        "rows": [_row(need) for need in standing],
        "is_new": not standing and not rows.exists(),
        "form": request.POST or {"wanted": "1"},
        "chosen": request.POST.getlist("weekday"),
        "roles": ShiftRole.choices,
        "weekdays": WEEKDAYS,
        "holidays": HOLIDAY_WORDS,
        "months": MONTHS,
    }


def _row(need: CoverNeed) -> dict[str, Any]:
    holidays = {given: word for (_, word), given in zip(HOLIDAY_WORDS, HOLIDAYS.values(), strict=True)}
    narrowed = [season_in_words(need), f"at {need.site}" if need.site else ""]
    narrowed.append("at the workplace" if need.at_workplace else "")
    return {
        "need": need,
        "words": cover_in_words(need),
        "weekdays": weekdays_in_words(need.weekdays),
        "holidays": holidays[need.bank_holiday],
        "narrowed": ", ".join(word for word in narrowed if word),
        "overnight": need.ends <= need.starts,
    }


def _add(request: HttpRequest, now: datetime) -> tuple[str, str]:
    form = request.POST
    need = add_cover(
        practice=request.user.practice,
        role=text(form, "role", 20),
        weekdays=_weekdays(form),
        starts=time_of_day(form, "starts"),
        ends=time_of_day(form, "ends"),
        wanted=whole_number(form, "wanted"),
        season=_season(form),
        bank_holiday=_holidays(form),
        site=text(form, "site", LONGEST_SITE),
        at_workplace=ticked(form, "at_workplace"),
        actor=request.user,
        now=now,
    )
    return f"From now on drafts ask for {cover_in_words(need)}.", HERE


def _weekdays(form: QueryDict) -> list[int]:
    given = form.getlist("weekday")
    if not given or not set(given) <= {value for value, _ in WEEKDAYS}:
        raise BadInput(field="weekday", problem="tick at least one day of the week.")
    return [int(value) for value in given]


def _holidays(form: QueryDict) -> bool | None:
    given = text(form, "bank_holiday", 20) or "both"
    if given not in HOLIDAYS:
        raise BadInput(field="bank_holiday", problem="choose one from the list.")
    return HOLIDAYS[given]


def _season(form: QueryDict) -> tuple[tuple[int, int], tuple[int, int]] | None:
    """Return the first and the last (month, day), None for all year; half a season is refused."""
    from_month, from_day, until_month, until_day = (whole_if_said(form, field) for field in SEASON)
    if from_month is from_day is until_month is until_day is None:
        return None
    if from_month is None or from_day is None or until_month is None or until_day is None:
        raise BadInput(field="season", problem="write its first day and its last, or leave both empty.")
    return (from_month, from_day), (until_month, until_day)


@member_page(Role.MANAGER)
@require_POST
def common(request: HttpRequest) -> HttpResponse:
    """Start with what most practices need."""
    return _done(request, lambda now: _common(request, now))


def _common(request: HttpRequest, now: datetime) -> tuple[str, str]:
    start_with_common_cover(practice=request.user.practice, actor=request.user, now=now)
    return "The common cover stands. Change it where your practice differs.", HERE


@member_page(Role.MANAGER)
@require_POST
def end(request: HttpRequest, need_id: int) -> HttpResponse:
    """Ask for it no longer."""
    return _done(request, lambda now: _end(request, need_id, now))


def _end(request: HttpRequest, need_id: int, now: datetime) -> tuple[str, str]:
    need = end_cover(need_id=need_id, actor=request.user, now=now)
    return f"Drafts no longer ask for {cover_in_words(need)}.", HERE
