"""The judge: the whole worked night put to the rest core again, duty by duty, after the fact.

A limit may only be passed with a signature. Nobody is ever sent past one; but a visit may run over,
and then a named person signs on the spot, the next planned duty moves until daily rest is had, and
what was passed is in the record. Every breach without such a signature counts.
"""

from dataclasses import replace
from datetime import timedelta

from dispatch.simulate.limits import HARD, RestDesk, daily_rest, rest_rules
from dispatch.simulate.people import CrewVet
from dispatch.simulate.record import Record
from rotas.rest.breaches import Breach, breaches
from rotas.rest.intervals import Duty, DutyKind, Span
from rotas.rest.owed import broken_nights

KNOWN_AROUND = timedelta(days=1)


def unsigned_breaches(record: Record) -> list[tuple[str, Breach]]:
    """Every hard rest rule that a vet on call has broken without a signature."""
    night = record.night
    known = Span(night.epoch - KNOWN_AROUND, night.epoch + 2 * KNOWN_AROUND)
    found = []
    for vet in night.crew:
        duties = duties_of(record, vet) if vet.standby is not None else ()
        signed = {each.rule for each in record.signed if each.vet == vet.id}
        passed = breaches(duties, rest_rules().only(HARD), night.zone, known=known)
        found += [(vet.id, breach) for breach in passed if breach.rule.rule_id not in signed]
    return found


def duties_of(record: Record, vet: CrewVet) -> tuple[Duty, ...]:
    """The vet's duties from the day before to the next planned one, which an overrun may have moved."""
    rostered = RestDesk(record.night).rostered(vet)
    so_far = (*vet.before, *rostered, *record.duties.get(vet.id, ()))
    if vet.after is None:
        return so_far
    return (*so_far, _moved(record, vet, so_far, vet.after))


def _moved(record: Record, vet: CrewVet, so_far: tuple[Duty, ...], after: Duty) -> Duty:
    if not any(each.vet == vet.id for each in record.signed):
        return after
    rested = max(duty.end for duty in so_far if duty.kind == DutyKind.CALL_OUT) + daily_rest()
    if rested <= after.start:
        return after
    return replace(after, start=rested, end=max(after.end, rested + timedelta(hours=1)))


def nights_broken(record: Record) -> int:
    """How many of the two on call were left without their unbroken hours of the night."""
    on_call = (vet for vet in record.night.crew if vet.standby is not None)
    return sum(len(broken_nights(duties_of(record, vet), rest_rules(), record.night.zone)) for vet in on_call)
