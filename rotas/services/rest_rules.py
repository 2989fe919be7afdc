"""What a practice settles about its rest rules, and who said so."""

from collections.abc import Mapping
from dataclasses import asdict
from datetime import datetime
from typing import Any

from django.db import transaction

from rotas import audit, events
from rotas.access import require_role
from rotas.errors import BadInput
from rotas.models import Member, Practice, Role
from rotas.rest.choices import FigureRefused, RestChoice, chosen_rules, require_figure
from rotas.rest.rules import Reading, UnknownRuleSet, all_rules, rule_named
from rotas.rest.told import judged_by
from rotas.services.worked import choice_of


@transaction.atomic
def choose_rest_rules(
    *,
    actor: Member,
    now: datetime,
    reason: str,
    set_name: str,
    reading: str,
    standby_in_full: bool = False,
    night_rules_replace_daily: bool = False,
    figures: Mapping[str, float] | None = None,
) -> Practice:
    """Settle the rest rules of the actor's practice; `figures` that are as published are left out."""
    require_role(actor, Role.MANAGER)
    why = reason.strip()
    if not why:
        raise BadInput(field="reason", problem="say why, for the rules of everybody's rest change.")
    choice = RestChoice(
        set_name, _reading(reading), standby_in_full, night_rules_replace_daily, _own(figures or {})
    )
    sentence = f"Rest: {_told(choice)}"
    practice = Practice.objects.select_for_update(no_key=True).get(pk=actor.practice_id)
    before = asdict(choice_of(practice))
    if before == asdict(choice):
        return practice
    practice.rest_rule_set, practice.daily_rest_reading = choice.set_name, choice.reading.value
    practice.standby_in_full = choice.standby_in_full
    practice.night_rules_replace_daily = choice.on_call_rest_replaces_daily
    practice.rest_figures = dict(choice.figures)
    practice.save(update_fields=FIELDS)
    audit.record(
        practice=practice,
        at=now,
        verb="rest_rules_chosen",
        subject=practice,
        sentence=sentence,
        actor=actor,
        reason=why,
        before=before,
        after=asdict(choice),
    )
    events.announce(practice.pk, "vet", sentence)
    return practice


FIELDS = [
    "rest_rule_set",
    "daily_rest_reading",
    "standby_in_full",
    "night_rules_replace_daily",
    "rest_figures",
]


def _told(choice: RestChoice) -> str:
    try:
        told = judged_by(chosen_rules(choice), choice.reading)
    except UnknownRuleSet as error:
        raise BadInput(field="set", problem=str(error)) from error
    own = "; ".join(f"{rule_named(rule)} {value:g}" for rule, value in sorted(choice.figures.items()))
    return f"{told} Own figures: {own}." if own else told


def _reading(given: str) -> Reading:
    try:
        return Reading(given)
    except ValueError as error:
        choices = ", ".join(reading.value for reading in Reading)
        raise BadInput(field="reading", problem=f"choose one of {choices}.") from error


def _own(figures: Mapping[str, Any]) -> dict[str, float]:
    """Return the figures that differ from the published ones, each checked."""
    own: dict[str, float] = {}
    for rule_id, value in sorted(figures.items()):
        rule = all_rules().get(rule_id)
        if rule is None:
            raise BadInput(field=rule_id, problem="there is no such rule.")
        try:
            require_figure(rule, float(value))
        except FigureRefused as error:
            raise BadInput(field=rule_id, problem=str(error)) from error
        if float(value) != rule.value:
            own[rule_id] = float(value)
    return own
