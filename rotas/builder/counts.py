"""Fairness counted: nights, weekends and bank holidays in points, and each person's share of them.

Points are kept in quarters inside, so that sums stay whole: a first night is 1, a second 0.5, a night of
the lambing season (Feb-May) half as much again; Christmas, New Year and Easter count double [cp].
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from datetime import date

from rotas.builder.cover import holiday_weight
from rotas.builder.question import FIRST, SECOND, Planned, RotaPerson, RotaQuestion, Slot, Spread

QUARTERS = 4
HELD = {FIRST: 4, SECOND: 2}  # quarters of a point
NIGHTS, WEEKENDS, BANK_HOLIDAYS = "nights", "weekends", "bank_holidays"
SHARED = (NIGHTS, WEEKENDS, BANK_HOLIDAYS)  # shared fairly; the others are shown only
SHOWN = (*SHARED, "first_nights", "second_nights", "lambing_nights", "days")
WEEKEND = frozenset({4, 5, 6})  # Fri, Sat and Sun nights
CHRISTMAS = (12, 25)


def quarters(question: RotaQuestion, slot: Slot) -> Mapping[str, int]:
    """Return what the slot counts, in quarters of a point, for each count that is shared."""
    if not slot.on_call:
        return {}
    held = HELD[slot.role]
    counted = {NIGHTS: held * 3 // 2 if question.rules.spring.holds(slot.day) else held}
    if slot.day.weekday() in WEEKEND:
        counted[WEEKENDS] = held
    if weight := holiday_weight(question, slot.day):
        counted[BANK_HOLIDAYS] = held * weight
    return counted


def counts(
    question: RotaQuestion, duties: Iterable[Planned], doubled: Iterable[Planned] = ()
) -> Mapping[str, Mapping[str, float]]:
    """Return person -> count -> points over the duties; for `first_nights` and the like plain numbers.

    `doubled`: duties taken over at short notice, whose points count twice to who covers [cp].
    """
    twice = frozenset(doubled)
    found = {person.id: dict.fromkeys(SHOWN, 0.0) for person in question.people}
    for planned in duties:
        mine = found.get(planned.person)
        if mine is not None:
            for name, amount in _shown(question, planned.slot):
                mine[name] += amount * (2 if name in SHARED and planned in twice else 1)
    return found


def _shown(question: RotaQuestion, slot: Slot) -> Iterable[tuple[str, float]]:
    if not slot.on_call:
        return [("days", 1.0)]
    shared = [(name, amount / QUARTERS) for name, amount in quarters(question, slot).items()]
    season = [("lambing_nights", 1.0)] if question.rules.spring.holds(slot.day) else []
    return [*shared, (f"{slot.role}_nights", 1.0), *season]


def weights(question: RotaQuestion, needed: Iterable[Slot]) -> Mapping[str, Mapping[str, float]]:
    """Return count -> person -> what their share of the points is in proportion to.

    The contract share times the points of the days that the person was here and not on leave: leave
    builds no debt, new starters count from their first day. People who may take none are not in it.
    """
    return _weights(question, _by_day(question, needed))


def _weights(
    question: RotaQuestion, by_day: Mapping[date, Mapping[str, int]]
) -> Mapping[str, Mapping[str, float]]:
    found: dict[str, dict[str, float]] = {name: defaultdict(float) for name in SHARED}
    for day, amounts in by_day.items():
        for person in question.people:
            if takes_part(person, day):
                for name, amount in amounts.items():
                    found[name][person.id] += amount * person.contract_share
    return found


def _by_day(question: RotaQuestion, needed: Iterable[Slot]) -> Mapping[date, Mapping[str, int]]:
    """Return day -> count -> quarters that begin on it."""
    found: dict[date, Counter[str]] = defaultdict(Counter)
    for slot in needed:
        amounts = found[slot.day]
        for name, amount in quarters(question, slot).items():
            amounts[name] += amount
    return found


def takes_part(person: RotaPerson, day: date) -> bool:
    """Say whether what begins on the day is part of what the person's share is reckoned from."""
    return (
        person.here(day)
        and day not in person.leave
        and any(role in person.roles and not _never(person, role) for role in HELD)
    )


def _never(person: RotaPerson, role: str) -> bool:
    """A rule without weekdays and dates takes the role away for good."""
    return any(
        rule.weekdays is None
        and rule.first_day is None
        and rule.last_day is None
        and (rule.roles is None or role in rule.roles)
        for rule in person.not_on
    )


def fair(question: RotaQuestion, needed: Iterable[Slot]) -> Mapping[str, Mapping[str, float]]:
    """Return count -> person -> points that are due in this rota, history made up for."""
    by_day = _by_day(question, needed)
    return {
        name: _due(question, name, by_person, _pool(by_day, name))
        for name, by_person in _weights(question, by_day).items()
    }


def points(question: RotaQuestion, name: str, needed: Iterable[Slot]) -> float:
    """Return all points of the count that the slots hold."""
    return _pool(_by_day(question, needed), name)


def _pool(by_day: Mapping[date, Mapping[str, int]], name: str) -> float:
    return sum(amounts.get(name, 0) for amounts in by_day.values()) / QUARTERS


def _due(
    question: RotaQuestion, name: str, by_person: Mapping[str, float], pool: float
) -> Mapping[str, float]:
    """Everyone's part of what is needed and of what everyone brings along, less what they bring."""
    brought = {person: question.person(person).history.get(name, 0.0) for person in by_person}
    rate = (pool + sum(brought.values())) / (sum(by_person.values()) or 1.0)
    return {person: rate * weight - brought[person] for person, weight in by_person.items()}


def spreads(
    question: RotaQuestion, duties: Iterable[Planned], doubled: Iterable[Planned] = ()
) -> tuple[Spread, ...]:
    """Return each shared count with what everyone has done and the fair share of it, history included."""
    duties, doubled = tuple(duties), tuple(doubled)
    needed = (planned.slot for planned in (*duties, *doubled))
    return spreads_of(question, counts(question, duties, doubled), needed)


def spreads_of(
    question: RotaQuestion, done: Mapping[str, Mapping[str, float]], needed: Iterable[Slot]
) -> tuple[Spread, ...]:
    """Return the same where what everyone has done is counted already."""
    due = fair(question, needed)
    return tuple(
        Spread(name, {person: done[person][name] for person in due[name]}, due[name]) for name in SHARED
    )


def carried_over(
    question: RotaQuestion, duties: Iterable[Planned], doubled: Iterable[Planned] = ()
) -> Mapping[str, Mapping[str, float]]:
    """Return person -> count -> how far ahead (+) or behind (-) they end: the next rota's `history`."""
    carried: dict[str, dict[str, float]] = {person.id: {} for person in question.people}
    for spread in spreads(question, duties, doubled):
        for person, ahead in spread.ahead.items():
            carried[person][spread.count] = ahead
    return carried
