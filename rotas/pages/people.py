"""Who is on the rota and on what terms: a part for each vet, every form of it small."""

from calendar import day_name
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db.models import Prefetch, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from rotas.access import find, vet_in
from rotas.errors import BadInput, DeskError
from rotas.models import NamedSecond, NotOn, Practice, Role, ShiftRole, Vet
from rotas.pages.fields import day_if_said, needed_day, row_key, text, whole_if_said, whole_number
from rotas.pages.member import member_page
from rotas.pages.once import done_once
from rotas.services.rota_terms import set_rota_terms
from rotas.services.wishes import end_keep_off, end_named_second, keep_off, name_second
from rotas.terms_words import not_on_in_words, percent_of, second_in_words, terms_in_words

WEEKDAYS = [("", "every day"), *((number, name) for number, name in enumerate(day_name))]
ROLES = [("", "any duty"), *ShiftRole.choices]


@dataclass(frozen=True)
class At:
    """The form that was refused: which of the forms, of which vet or of which rule."""

    form: str
    key: int


@dataclass(frozen=True)
class Rule:
    """A rule or a named second in words; `ends_on` stands in the form that ends it."""

    key: int
    words: str
    ends_on: str
    open: bool


@dataclass(frozen=True)
class Person:
    """One vet's part of the page, with what each form shows."""

    vet: Vet
    words: str
    roles: list[str]
    terms: Any
    off: Any
    second: Any
    rules: list[Rule]
    seconds: list[Rule]
    others: list[Vet]
    open: str


@member_page(Role.MANAGER)
@require_GET
def show(request: HttpRequest) -> HttpResponse:
    """Show everybody who is on the rota."""
    return render(request, "rotas/people.html", _shown(request, timezone.now()))


def _shown(request: HttpRequest, now: datetime, at: At | None = None) -> dict[str, Any]:
    practice = request.user.practice
    today = practice.local(now).date()
    vets = list(_vets(practice, today))
    return {
        "people": [_person(vet, vets, request, today, at) for vet in vets],
        "role_choices": ShiftRole.choices,
        "weekdays": WEEKDAYS,
        "roles": ROLES,
    }


def _vets(practice: Practice, today: date) -> QuerySet[Vet]:
    """Return the vets who are here, with the rules that have not ended by today."""
    rules = NotOn.objects.exclude(ends_on__lt=today).order_by("pk")
    seconds = NamedSecond.objects.exclude(ends_on__lt=today).select_related("second__member").order_by("pk")
    rows = Vet.objects.for_practice(practice).filter(active=True).select_related("member").order_by("code")
    return rows.prefetch_related(
        Prefetch("not_on", rules, to_attr="rules"), Prefetch("named_seconds", seconds, to_attr="seconds")
    )


def _person(vet: Any, vets: list[Vet], request: HttpRequest, today: date, at: At | None) -> Person:
    refused = at.form if at is not None and at.key == vet.pk else ""
    typed = {refused: request.POST}
    terms = typed.get("terms") or _as_form(vet)
    return Person(
        vet=vet,
        words=terms_in_words(vet),
        roles=request.POST.getlist("role") if refused == "terms" else vet.rota_roles,
        terms=terms,
        off=typed.get("off") or {},
        second=typed.get("second") or {},
        rules=[_rule(row, not_on_in_words(row), "off-end", request, today, at) for row in vet.rules],
        seconds=[_rule(row, second_in_words(row), "second-end", request, today, at) for row in vet.seconds],
        others=[other for other in vets if other.pk != vet.pk],
        open=refused,
    )


def _as_form(vet: Vet) -> dict[str, str]:
    return {
        "contract": str(percent_of(vet)),
        "started_on": vet.started_on.isoformat() if vet.started_on else "",
        "nights": str(vet.most_nights_running or ""),
    }


def _rule(
    row: NotOn | NamedSecond, words: str, form: str, request: HttpRequest, today: date, at: At | None
) -> Rule:
    refused = at == At(form, row.pk)
    usual = max(today, row.starts_on or today).isoformat()
    return Rule(row.pk, words, request.POST.get("ends_on", "") if refused else usual, refused)


def _done(request: HttpRequest, at: At, make: Callable[[datetime], tuple[str, int]]) -> HttpResponse:
    """Write it and go back to the vet's part, or show the refusal with what was typed."""
    now = timezone.now()

    def made() -> tuple[str, str]:
        sentence, vet_id = make(now)
        return sentence, f"/rota/people/#v-{vet_id}"

    try:
        return done_once(request, now, made)
    except DeskError as error:
        page = _shown(request, now, at) | {"error": error}
        return render(request, "rotas/people.html", page, status=error.status)


@member_page(Role.MANAGER)
@require_POST
def terms(request: HttpRequest, vet_id: int) -> HttpResponse:
    """Set roles, contract, first day and nights running."""
    vet = vet_in(request.user.practice, vet_id)
    return _done(request, At("terms", vet.pk), lambda now: _terms(request, vet, now))


def _terms(request: HttpRequest, vet: Vet, now: datetime) -> tuple[str, int]:
    form = request.POST
    row = set_rota_terms(
        vet=vet,
        contract_share=_share(whole_number(form, "contract")),
        started_on=day_if_said(form, "started_on"),
        rota_roles=form.getlist("role"),
        most_nights_running=whole_if_said(form, "nights"),
        actor=request.user,
        now=now,
    )
    return f"{row} on the rota: {terms_in_words(row)}.", row.pk


def _share(percent: int) -> Decimal:
    if not 1 <= percent <= 100:
        raise BadInput(field="contract", problem="write the part of full time in percent, from 1 to 100.")
    return Decimal(percent) / 100


@member_page(Role.MANAGER)
@require_POST
def off(request: HttpRequest, vet_id: int) -> HttpResponse:
    """Keep a vet off a weekday, a role or days."""
    vet = vet_in(request.user.practice, vet_id)
    return _done(request, At("off", vet.pk), lambda now: _off(request, vet, now))


def _off(request: HttpRequest, vet: Vet, now: datetime) -> tuple[str, int]:
    form = request.POST
    rule = keep_off(
        vet=vet,
        weekday=whole_if_said(form, "weekday"),
        role=text(form, "role", 20),
        starts_on=day_if_said(form, "starts_on"),
        ends_on=day_if_said(form, "ends_on"),
        actor=request.user,
        now=now,
    )
    return f"Written down: {vet} {not_on_in_words(rule)}.", vet.pk


@member_page(Role.MANAGER)
@require_POST
def off_end(request: HttpRequest, rule_id: int) -> HttpResponse:
    """Let a rule end with a day."""
    practice = request.user.practice
    rule = find(NotOn.objects.all(), pk=rule_id, practice=practice, what="rule")
    return _done(request, At("off-end", rule.pk), lambda now: _off_end(request, rule_id, now))


def _off_end(request: HttpRequest, rule_id: int, now: datetime) -> tuple[str, int]:
    last = needed_day(request.POST, "ends_on")
    rule = end_keep_off(rule_id=rule_id, ends_on=last, actor=request.user, now=now)
    return f"Written down: {rule.vet} {not_on_in_words(rule)}.", rule.vet_id


@member_page(Role.MANAGER)
@require_POST
def second(request: HttpRequest, vet_id: int) -> HttpResponse:
    """Name a second for a vet."""
    vet = vet_in(request.user.practice, vet_id)
    return _done(request, At("second", vet.pk), lambda now: _second(request, vet, now))


def _second(request: HttpRequest, vet: Vet, now: datetime) -> tuple[str, int]:
    form = request.POST
    chosen = row_key(form, "second")
    if chosen is None:
        raise BadInput(field="second", problem="choose who is second.")
    row = name_second(
        vet=vet,
        second=vet_in(request.user.practice, chosen),
        starts_on=day_if_said(form, "starts_on"),
        ends_on=day_if_said(form, "ends_on"),
        actor=request.user,
        now=now,
    )
    return f"{vet} is first on call only with a named second: {second_in_words(row)}.", vet.pk


@member_page(Role.MANAGER)
@require_POST
def second_end(request: HttpRequest, row_id: int) -> HttpResponse:
    """Let a named second end with a day."""
    practice = request.user.practice
    row = find(NamedSecond.objects.all(), pk=row_id, practice=practice, what="named second")
    return _done(request, At("second-end", row.pk), lambda now: _second_end(request, row_id, now))


def _second_end(request: HttpRequest, row_id: int, now: datetime) -> tuple[str, int]:
    last = needed_day(request.POST, "ends_on")
    row = end_named_second(row_id=row_id, ends_on=last, actor=request.user, now=now)
    return f"Written down: a named second of {row.vet} is {second_in_words(row)}.", row.vet_id
