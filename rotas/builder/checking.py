"""The independent checker: which rules a rota breaks, on real instants, without any solver.

Publishing, swaps, leave and every move on the page ask it. Rest is judged by `rotas.rest`.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from rotas.builder.cover import days_of
from rotas.builder.night_rules import NIGHT_RULES
from rotas.builder.person_rules import PERSON_RULES, Slots
from rotas.builder.question import FIRST, Broken, Move, Planned, RotaPerson, RotaQuestion
from rotas.builder.sheet import Sheet, rest_duties
from rotas.rest.breaches import Breach
from rotas.rest.planned import planned_breaches
from rotas.rest.rules import Measure, RuleSet

NEAR = timedelta(days=35)  # further away a duty changes nothing but the average week
LONG = frozenset({Measure.AVERAGE_WEEK, Measure.NIGHT_AVERAGE})


class MoveUnclear(ValueError):
    """The move does not fit the rota; the message says what to do."""


def check(question: RotaQuestion, duties: Iterable[Planned]) -> tuple[Broken, ...]:
    """Return everything that the rota breaks, in order of time; empty if it may be published."""
    sheet = Sheet(question, tuple(duties))
    people = tuple(_strangers(sheet))
    found = [
        *people,
        *(broken for person in question.people for broken in _of_person(sheet, person, sheet.mine(person))),
        *(broken for day in days_of(question) for broken in _of_day(sheet, day)),
        *_outside(sheet),
    ]
    return in_order(found)


def check_move(
    question: RotaQuestion, duties: Iterable[Planned], moves: Sequence[Move] | Move
) -> tuple[Broken, ...]:
    """Return what the moves would newly break; what was broken before is not told again.

    Several moves are made together, as in a swap. Only the people and the days concerned are judged.
    """
    moves = (moves,) if isinstance(moves, Move) else tuple(moves)
    before = Sheet(question, tuple(duties))
    after = Sheet(question, moved(before.duties, moves))
    scope = _scope(question, moves)
    known = {_told(broken) for broken in _judged(before, scope)}
    return in_order(broken for broken in _judged(after, scope) if _told(broken) not in known)


def moved(duties: Iterable[Planned], moves: Iterable[Move]) -> tuple[Planned, ...]:
    """Return the duties after the moves."""
    after = list(duties)
    for move in moves:
        if move.person_from is not None:
            given = Planned(move.person_from, move.slot)
            if given not in after:
                raise MoveUnclear(f"{move.person_from} is not on that duty. Look at the rota again.")
            after.remove(given)
        if move.person_to is not None:
            after.append(Planned(move.person_to, move.slot))
    return tuple(after)


def in_order(found: Iterable[Broken]) -> tuple[Broken, ...]:
    """Return the broken rules once each, in order of time."""
    return tuple(
        sorted(dict.fromkeys(found), key=lambda broken: (broken.moment, broken.rule, broken.person or ""))
    )


@dataclass(frozen=True)
class _Scope:
    people: tuple[RotaPerson, ...]
    days: tuple[date, ...]


def _scope(question: RotaQuestion, moves: Iterable[Move]) -> _Scope:
    moves = tuple(moves)
    named = {each for move in moves for each in (move.person_from, move.person_to) if each is not None}
    return _Scope(
        tuple(question.person(each) for each in sorted(named)),
        tuple(sorted({move.slot.day for move in moves})),
    )


def _judged(sheet: Sheet, scope: _Scope) -> Iterator[Broken]:
    first, last = scope.days[0] - NEAR, scope.days[-1] + NEAR
    for person in scope.people:
        mine = sheet.mine(person)
        near = [slot for slot in mine if first <= slot.day <= last]
        yield from _of_person(sheet, person, near, whole=mine)
    for day in scope.days:
        yield from _of_day(sheet, day)


def _told(broken: Broken) -> tuple[str, str | None, str]:
    return broken.rule, broken.person, broken.sentence


def _of_person(sheet: Sheet, person: RotaPerson, mine: Slots, whole: Slots | None = None) -> Iterator[Broken]:
    for rule in PERSON_RULES:
        for broken in rule(sheet, person, mine):
            if broken.moment >= sheet.begins:
                yield broken
    rest = sheet.question.rules.judged_by
    if whole is None:
        yield from _rest(sheet, person, mine, rest)
        return
    yield from _rest(sheet, person, mine, _without(rest, LONG))
    yield from _rest(sheet, person, whole, rest.only(LONG))


def _without(rest: RuleSet, measures: frozenset[Measure]) -> RuleSet:
    return replace(rest, rules=tuple(rule for rule in rest.rules if rule.measure not in measures))


def _rest(sheet: Sheet, person: RotaPerson, mine: Slots, rest: RuleSet) -> Iterator[Broken]:
    rules = sheet.question.rules
    found = planned_breaches(
        rest_duties(mine),
        rest,
        sheet.question.tz,
        rules.reading,
        rota=sheet.span,
        first_on=(slot.span for slot in mine if slot.role == FIRST),
        leave=person.leave,
        in_spring=rules.spring.holds,
        opted_out=person.opted_out,
    )
    for breach in found:
        yield _broken(person, breach)


def _broken(person: RotaPerson, breach: Breach) -> Broken:
    sentence = f"{person.name}: {breach.sentence}"
    return Broken(breach.rule.rule_id, person.id, breach.moment, sentence, breach.rule.source)


def _of_day(sheet: Sheet, day: date) -> Iterator[Broken]:
    for rule in NIGHT_RULES:
        yield from rule(sheet, day, sheet.on.get(day, ()))


def _strangers(sheet: Sheet) -> Iterator[Broken]:
    known = {person.id for person in sheet.question.people}
    for planned in sheet.duties:
        if planned.person not in known:
            told = f"{planned.person} is on the rota, but is not among its people."
            yield Broken("unknown_person", planned.person, planned.slot.start, told, "the question")


def _outside(sheet: Sheet) -> Iterator[Broken]:
    question = sheet.question
    for planned in sheet.duties:
        if not question.first_day <= planned.slot.day <= question.last_day:
            told = f"A duty begins on {planned.slot.day.isoformat()}, which lies outside the rota."
            yield Broken("outside", planned.person, planned.slot.start, told, "the question")
