"""One vet's rota: what is to come, week by week on one axis; their wishes, leave and swaps beside it.

Duties are for everyone to see. Wishes, leave and swaps are for the vet and the managers.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from rotas.access import vet_in
from rotas.duty_words import duty_in_words
from rotas.errors import BadInput, DeskError
from rotas.models import Leave, NamedSecond, NotOn, Role, RotaWish, Shift, ShiftRole, Swap, Vet
from rotas.pages.days import ONE_DAY, Axis, Bar
from rotas.pages.fields import needed_day, text, whole_number
from rotas.pages.member import member_page
from rotas.pages.once import done_once
from rotas.services.swaps import in_words
from rotas.services.wishes import make_wish, wish_in, withdraw_wish
from rotas.terms_words import not_on_in_words, second_in_words, terms_in_words

WEEKS = 8
WEIGHTS = ((1, "a little"), (2, "quite"), (3, "a lot"))
WISHES = (("no", "would rather not have"), ("yes", "would like to have"))


@dataclass(frozen=True)
class Week:
    """One week on the axis from Monday to Sunday, with its rostered hours in words."""

    first: date
    bars: tuple[Bar, ...]
    hours: str


@member_page(Role.RECEPTION, Role.VET)
@require_GET
def show(request: HttpRequest, vet_id: int) -> HttpResponse:
    """Show the vet's eight weeks."""
    vet = vet_in(request.user.practice, vet_id)
    return render(request, "rotas/person.html", _shown(request, vet, timezone.now()))


def _shown(request: HttpRequest, vet: Vet, now: datetime) -> dict[str, Any]:
    practice = request.user.practice
    today = practice.local(now).date()
    monday = today - today.weekday() * ONE_DAY
    axis = Axis(practice, monday, monday + timedelta(weeks=WEEKS) - ONE_DAY)
    rows = Shift.objects.filter(vet=vet).within(axis.start, axis.end)
    shifts = list(rows.select_related("practice", "vet__member").in_order())
    is_theirs = request.user.pk == vet.member_id
    return {
        "vet": vet,
        "now": now,
        "weeks": [_week(practice, monday + timedelta(weeks=number), shifts) for number in range(WEEKS)],
        "ticks": Axis(practice, monday, monday + 6 * ONE_DAY).ticks(),
        "coming": [(shift, duty_in_words(shift)) for shift in shifts if shift.ends_at > now],
        "is_theirs": is_theirs,
        "form": request.POST,
        "is_manager": request.user.holds(Role.MANAGER),
    } | (_private(vet, today) | _terms(vet, today) if is_theirs or request.user.holds(Role.MANAGER) else {})


def _week(practice: Any, monday: date, shifts: Iterable[Shift]) -> Week:
    axis = Axis(practice, monday, monday + 6 * ONE_DAY)
    begun = [shift for shift in shifts if axis.start <= shift.starts_at < axis.end]
    return Week(monday, tuple(axis.bars(shifts)), _hours(begun))


def _hours(shifts: Iterable[Shift]) -> str:
    """Return the rostered hours of duties that begin in the week, day work apart from on call."""
    day, on_call = timedelta(), timedelta()
    for shift in shifts:
        length = shift.ends_at - shift.starts_at
        day, on_call = (day + length, on_call) if shift.role == ShiftRole.DAY else (day, on_call + length)
    said = [
        f"{length / timedelta(hours=1):g} h {word}"
        for length, word in ((on_call, "on call"), (day, "by day"))
        if length
    ]
    return ", ".join(said) or "no duty"


def _private(vet: Vet, today: date) -> dict[str, Any]:
    swaps = Swap.objects.for_practice(vet.practice).of_vet(vet).open()
    rows = swaps.select_related(
        "from_vet__member", "to_vet__member", "shift__practice", "in_return__practice"
    ).order_by("asked_at")
    return {
        "may_wish": True,
        "wishes": RotaWish.objects.filter(vet=vet, day__gte=today).standing().order_by("day", "pk"),
        "leave": Leave.objects.filter(vet=vet, last_day__gte=today).standing().order_by("first_day"),
        "swaps": [(swap, in_words(swap)) for swap in rows],
        "roles": [("", "any duty"), *ShiftRole.choices],
        "weights": WEIGHTS,
        "wants": WISHES,
    }


def _terms(vet: Vet, today: date) -> dict[str, Any]:
    rules = NotOn.objects.filter(vet=vet).exclude(ends_on__lt=today).order_by("pk")
    seconds = NamedSecond.objects.filter(vet=vet).exclude(ends_on__lt=today)
    return {
        "terms": terms_in_words(vet),
        "rules": [not_on_in_words(rule) for rule in rules],
        "seconds": [second_in_words(row) for row in seconds.select_related("second__member").order_by("pk")],
    }


@member_page(Role.VET, Role.MANAGER)
@require_POST
def wish(request: HttpRequest, vet_id: int) -> HttpResponse:
    """Write a wish."""
    now, vet = timezone.now(), vet_in(request.user.practice, vet_id)
    try:
        return done_once(request, now, lambda: _wish(request, vet, now))
    except DeskError as error:
        page = _shown(request, vet, now) | {"error": error}
        return render(request, "rotas/person.html", page, status=error.status)


def _wish(request: HttpRequest, vet: Vet, now: datetime) -> tuple[str, str]:
    form = request.POST
    if form.get("wants") not in dict(WISHES):
        raise BadInput(field="wants", problem="choose one from the list.")
    made = make_wish(
        vet=vet,
        day=needed_day(form, "day"),
        wants=form["wants"] == "yes",
        role=text(form, "role", 20),
        weight=whole_number(form, "weight", otherwise=1),
        actor=request.user,
        now=now,
    )
    return f"Written down: {made}.", f"/rota/vets/{vet.pk}/"


@member_page(Role.VET, Role.MANAGER)
@require_POST
def wish_back(request: HttpRequest, wish_id: int) -> HttpResponse:
    """Take a wish back."""
    now, row = timezone.now(), wish_in(request.user.practice, wish_id)
    return done_once(request, now, lambda: _wish_back(request, row, now))


def _wish_back(request: HttpRequest, row: RotaWish, now: datetime) -> tuple[str, str]:
    withdraw_wish(wish=row, actor=request.user, now=now)
    return "The wish is taken back.", f"/rota/vets/{row.vet_id}/"
