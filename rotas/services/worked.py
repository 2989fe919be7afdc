"""From shifts and duty records to the duties that the rest core reads."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime

from psycopg.types.range import TimestamptzRange

from rotas.models import DutyRecord, Practice, Shift, ShiftRole, Vet
from rotas.rest.intervals import Duty, DutyKind
from rotas.rest.rules import RuleSet, UnknownRuleSet, rule_set

Duties = tuple[Duty, ...]


def rules_of(practice: Practice) -> RuleSet:
    """Return the rule set that the practice goes by; an unknown name falls back to our own limits."""
    try:
        return rule_set(practice.rest_rule_set)
    except UnknownRuleSet:
        return rule_set("practice")


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
    """Return how a shift counts: on call at home only what is worked of it, all others in full."""
    if shift.role == ShiftRole.DAY:
        return DutyKind.WORK
    return DutyKind.WORKPLACE if shift.at_workplace else DutyKind.AT_HOME
