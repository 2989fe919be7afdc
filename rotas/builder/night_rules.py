"""What a rota must give each day: cover, skills, a named second. Each rule a function over one day.

A night is one day's duties on call. Where duties change hands in between, every instant is looked at.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import date, datetime

from rotas.builder.cover import slots_on
from rotas.builder.person_rules import CP, OURS, on
from rotas.builder.question import FIRST, SECOND, SOLO, Broken, Planned, Slot
from rotas.builder.sheet import Sheet
from rotas.rest.intervals import Span, gaps, merge

There = Sequence[Planned]


def cover(sheet: Sheet, day: date, there: There) -> Iterator[Broken]:
    """As many are on as are wanted, at every instant; nobody is on where nobody is wanted."""
    wanted = slots_on(sheet.question, day)
    for slot in dict.fromkeys(wanted):
        same = [planned.slot for planned in there if _serves(planned.slot, slot)]
        least, moment = _least(same, slot)
        if least < wanted.count(slot):
            told = (
                f"Nobody is {on(slot)}." if not least else f"{least} of {wanted.count(slot)} are {on(slot)}."
            )
            yield Broken("cover", None, moment, told, OURS)
        most, moment = _most(same, slot)
        if most > wanted.count(slot):
            yield Broken(
                "cover", None, moment, f"{most} are {on(slot)}; {wanted.count(slot)} is wanted.", OURS
            )
    for planned in there:
        if not any(_serves(planned.slot, slot) for slot in wanted):
            told = f"Nobody is wanted {on(planned.slot)}."
            yield Broken("cover", planned.person, planned.slot.start, told, OURS)


def _serves(given: Slot, slot: Slot) -> bool:
    return (
        (given.day, given.role, given.site) == (slot.day, slot.role, slot.site)
        and slot.start <= given.start
        and given.end <= slot.end
    )


def _levels(given: Iterable[Slot], slot: Slot) -> list[tuple[int, datetime]]:
    """How many are on at every instant at which that may change."""
    given = list(given)
    marks = sorted({slot.start, *(edge for each in given for edge in (each.start, each.end))} - {slot.end})
    return [(sum(1 for each in given if each.start <= mark < each.end), mark) for mark in marks]


def _least(given: Iterable[Slot], slot: Slot) -> tuple[int, datetime]:
    return min(_levels(given, slot))


def _most(given: Iterable[Slot], slot: Slot) -> tuple[int, datetime]:
    return max(_levels(given, slot), key=lambda level: level[0])


def named_second(sheet: Sheet, day: date, there: There) -> Iterator[Broken]:
    """Who needs a named second is first on call only while one of them is second [cp]."""
    for planned in there:
        person = sheet.known(planned.person)
        if planned.slot.role != FIRST or person is None or not person.needs_named_second:
            continue
        alone = _alone(planned.slot, _of(there, SECOND, person.needs_named_second))
        if alone:
            names = ", ".join(sheet.question.person(each).name for each in sorted(person.needs_named_second))
            told = f"{person.name} is {on(planned.slot)} without a named second ({names})."
            yield Broken("named_second", person.id, alone[0].start, told, CP)


def _of(there: There, role: str, people: Iterable[str]) -> list[Slot]:
    wanted = frozenset(people)
    return [each.slot for each in there if each.slot.role == role and each.person in wanted]


def _alone(slot: Slot, others: Iterable[Slot]) -> tuple[Span, ...]:
    return gaps(merge(other.span for other in others), slot.span)


def skills(sheet: Sheet, day: date, there: There) -> Iterator[Broken]:
    """For each skill that must be there, someone on call does it alone, all night [cp].

    While nobody is on call at all, it is cover that is missing.
    """
    nights = [each for each in there if each.slot.on_call]
    covered = merge(each.slot.span for each in nights)
    for skill in sorted(sheet.question.rules.solo_every_night):
        able = merge(each.slot.span for each in nights if is_solo(sheet, each.person, skill))
        without = [gap for span in covered for gap in gaps(able, span)]
        if without:
            told = f"Nobody on call on {day:%a} {day.day} {day:%b} does {skill} alone."
            yield Broken("skill_cover", None, without[0].start, told, CP)


def is_solo(sheet: Sheet, person_id: str, skill: str) -> bool:
    """Say whether the person does it alone."""
    person = sheet.known(person_id)
    return person is not None and person.skills.get(skill) == SOLO


def kept_apart(sheet: Sheet, day: date, there: There) -> Iterator[Broken]:
    """A new graduate is not on call the same night as a new locum [cp]."""
    on_call = [planned for planned in there if planned.slot.on_call]
    for planned in on_call:
        person = sheet.known(planned.person)
        for other in on_call:
            if (
                person is not None
                and other.person in person.not_with
                and other.slot.span.touches(planned.slot.span)
            ):
                name = sheet.question.person(other.person).name
                told = f"{person.name} is {on(planned.slot)} with {name}; they are kept apart."
                yield Broken("kept_apart", person.id, planned.slot.start, told, CP)


def agreed(sheet: Sheet, day: date, there: There) -> Iterator[Broken]:
    """What was agreed stays: swaps, and duties already published."""
    for fixed in sheet.question.fixed:
        if fixed.slot.day == day and Planned(fixed.person, fixed.slot) not in there:
            name = sheet.question.person(fixed.person).name
            told = f"{name} is no longer {on(fixed.slot)}, which was {fixed.why}."
            yield Broken("agreed", fixed.person, fixed.slot.start, told, OURS)


NightRule = Callable[[Sheet, date, There], Iterator[Broken]]
NIGHT_RULES: tuple[NightRule, ...] = (cover, named_second, skills, kept_apart, agreed)
