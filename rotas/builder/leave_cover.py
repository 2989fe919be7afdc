"""What speaks against leave: skills that nobody is left for, and the practice's own times for asking.

Why somebody is away is nobody's business and is not asked. All figures are common practice [cp].
"""

from collections.abc import Iterable, Iterator, Mapping
from datetime import date, timedelta

from rotas.builder.question import SOLO, RotaPerson
from rotas.rest.season import Season

NEEDED: Mapping[str, str] = {
    "caesar_cattle": "a caesarean",
    "equine": "a horse",
    "official_tb": "a TB test",
}  # at least one vet for each, whoever is away
SETTLED_AHEAD = timedelta(weeks=6)
PEAK = Season((3, 15), (4, 11))  # the four busiest weeks of the year
AUTUMN_ENDS = (11, 30)


def leave_conflicts(
    people: Iterable[RotaPerson], person_id: str, first_day: date, last_day: date, asked_on: date
) -> tuple[str, ...]:
    """Return what speaks against leave on these days, both included, in sentences.

    `people` are all who work here, with the leave that is approved. A skill that nobody here has
    alone is not asked for.
    """
    everybody = tuple(people)
    return (*_skills(everybody, person_id, first_day, last_day), *_times(first_day, last_day, asked_on))


def _skills(people: tuple[RotaPerson, ...], person_id: str, first: date, last: date) -> Iterator[str]:
    for skill, words in NEEDED.items():
        able = [person for person in people if person.skills.get(skill) == SOLO]
        others = [person for person in able if person.id != person_id]
        if len(able) == len(others):
            continue
        bare = [day for day in days(first, last) if not any(_there(person, day) for person in others)]
        if bare:
            yield f"Nobody else could see to {words} alone {_span(bare)}."


def _there(person: RotaPerson, day: date) -> bool:
    return person.here(day) and day not in person.leave


def _times(first: date, last: date, asked_on: date) -> Iterator[str]:
    ahead = (first - asked_on).days
    if asked_on + SETTLED_AHEAD > first:
        yield f"Leave is settled {SETTLED_AHEAD.days // 7} weeks ahead; this begins in {max(ahead, 0)} days."
    busy = [day for day in days(first, last) if PEAK.holds(day)]
    if busy and asked_on > date(busy[0].year - 1, *AUTUMN_ENDS):
        yield f"It lies in the four busiest weeks {_span(busy)}, and was not agreed in autumn."


def days(first: date, last: date) -> Iterator[date]:
    """Yield the days from the first to the last, both included."""
    for number in range((last - first).days + 1):
        yield first + timedelta(days=number)


def _span(found: list[date]) -> str:
    first, last = found[0], found[-1]
    if first == last:
        return f"on {first:%a} {first.day} {first:%b}"
    return f"between {first:%a} {first.day} {first:%b} and {last:%a} {last.day} {last:%b}"
