"""From shifts and duty records to the duties that the rest core reads."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from psycopg.types.range import TimestamptzRange

from rotas.models import DutyRecord, Practice, Shift, ShiftRole, Vet
from rotas.rest.choices import OWN, RestChoice, chosen_rules
from rotas.rest.intervals import Duty, DutyKind
from rotas.rest.rules import Reading, RuleSet, UnknownRuleSet

Duties = tuple[Duty, ...]


def choice_of(practice: Practice) -> RestChoice:
    """Return what the practice has settled about its rest rules."""
    return RestChoice(
        practice.rest_rule_set,
        Reading(practice.daily_rest_reading),
        practice.standby_in_full,
        practice.night_rules_replace_daily,
        practice.rest_figures,
    )


def rules_of(practice: Practice) -> RuleSet:
    """Return the rule set that the practice goes by; an unknown name falls back to our own limits."""
    choice = choice_of(practice)
    try:
        return chosen_rules(choice)
    except UnknownRuleSet:
        return chosen_rules(replace(choice, set_name=OWN))


def duties_of(vets: Iterable[Vet], start: datetime, end: datetime) -> dict[int, Duties]:
    """Return every vet's duties that touch [start, end), by the vet's key; a vet without any has ()."""
    keys = [vet.pk for vet in vets]
    found: dict[int, list[Duty]] = defaultdict(list)
    for shift in Shift.objects.within(start, end).filter(vet__in=keys).in_order():
        found[shift.vet_id].append(Duty(shift.starts_at, shift.ends_at, kind_of(shift)))
    period = TimestamptzRange(start, end)
    for record in DutyRecord.objects.filter(vet__in=keys, period__overlap=period).order_by("period"):
        duty = Duty(record.period.lower, record.period.upper, DutyKind(record.kind))
        found[record.vet_id].append(duty)
    return {key: tuple(found[key]) for key in keys}


def kind_of(shift: Shift) -> DutyKind:
    """Return how a shift counts."""
    return counts_as(shift.role, shift.at_workplace)


def counts_as(role: str, at_workplace: bool) -> DutyKind:
    """Return how a shift of the role counts: on call at home only what is worked of it, others in full."""
    if role == ShiftRole.DAY:
        return DutyKind.WORK
    return DutyKind.WORKPLACE if at_workplace else DutyKind.AT_HOME
