"""The rest rules that the practice goes by: every row with its article, and what a manager may settle."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from rotas.access import require_role
from rotas.errors import DeskError
from rotas.models import Role
from rotas.pages.fields import hours_if_said, text, ticked
from rotas.pages.member import member_page
from rotas.pages.once import done_once
from rotas.rest.case_law import holdings
from rotas.rest.choices import OWN, RestChoice, may_change, stands_for_law
from rotas.rest.rules import TITLES, Rule, all_rules, rule_set
from rotas.rest.told import READ
from rotas.services.rest_rules import choose_rest_rules
from rotas.services.worked import choice_of, rules_of


@dataclass(frozen=True)
class RuleRow:
    """One rule as the page shows it; `figure` is set where a manager may write another one."""

    rule: Rule
    amount: str
    figure: str
    published: str
    stricter_only: bool


@member_page(Role.RECEPTION, Role.VET, Role.MANAGER)
@require_http_methods(["GET", "POST"])
def show(request: HttpRequest) -> HttpResponse:
    """Show the rules; a manager settles them here."""
    now = timezone.now()
    if request.method == "GET":
        return render(request, "rotas/rest_rules.html", _shown(request))
    require_role(request.user, Role.MANAGER)
    try:
        return done_once(request, now, lambda: _settle(request, now))
    except DeskError as error:
        return render(
            request, "rotas/rest_rules.html", _shown(request) | {"error": error}, status=error.status
        )


def _settle(request: HttpRequest, now: datetime) -> tuple[str, str]:
    form = request.POST
    choose_rest_rules(
        actor=request.user,
        now=now,
        reason=text(form, "reason"),
        set_name=text(form, "set"),
        reading=text(form, "reading"),
        standby_in_full=ticked(form, "standby_in_full"),
        night_rules_replace_daily=ticked(form, "night_rules_replace_daily"),
        figures=_figures(form),
    )
    return "The rest rules are settled as they stand here.", "/rest/rules/"


def _figures(form: QueryDict) -> dict[str, float]:
    """Return the figures that were written; one left empty is as published."""
    own = (rule.rule_id for rule in rule_set(OWN).rules if may_change(rule))
    written = {rule_id: hours_if_said(form, rule_id) for rule_id in own}
    return {rule_id: float(value) for rule_id, value in written.items() if value is not None}


def _shown(request: HttpRequest) -> dict[str, Any]:
    practice = request.user.practice
    rules = rules_of(practice)
    choice = choice_of(practice)
    return {
        "rules": rules,
        "rows": [_row(rule, request.POST) for rule in rules.rules],
        "is_own": rules.name == OWN,
        "form": request.POST or _as_form(choice),
        "sets": list(TITLES.items()),
        "readings": [(reading.value, words) for reading, words in READ.items()],
        "holdings": holdings(),
        "may_change": request.user.holds(Role.MANAGER),
    }


def _as_form(choice: RestChoice) -> QueryDict:
    form = QueryDict(mutable=True)
    form.update({"set": choice.set_name, "reading": choice.reading.value})
    form["standby_in_full"] = "yes" if choice.standby_in_full else ""
    form["night_rules_replace_daily"] = "yes" if choice.on_call_rest_replaces_daily else ""
    return form


def _row(rule: Rule, form: QueryDict) -> RuleRow:
    published = all_rules()[rule.rule_id]
    changeable = may_change(published)
    own = f"{rule.value:g}" if changeable and rule.value is not None else ""
    return RuleRow(
        rule,
        _amount(rule),
        form.get(rule.rule_id, own) if changeable else "",
        f"{published.value:g}" if published.value is not None else "",
        changeable and stands_for_law(published),
    )


def _amount(rule: Rule) -> str:
    """Return the figure as people say it, a local time where the rule has no figure."""
    least = {"min": "at least ", "max": "at most "}.get(rule.sense, "")
    if rule.value is not None:
        return f"{least}{rule.value:g} {rule.unit}"
    return f"until {rule.clock_until:%H:%M}" if rule.clock_until else ""
