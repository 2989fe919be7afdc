"""A farm's treatments, diagnoses, animals and medicines as one collection of the standard's resources."""

from collections.abc import Callable, Iterable
from datetime import datetime

from cases.exchange import events, resources
from cases.exchange.identifiers import Json, Source
from cases.exchange.resources import AnimalFacts
from cases.records.line import MedicineLine


def treatments(lines: Iterable[MedicineLine], source: Source) -> list[Json]:
    """Return every single animal's treatment."""
    return [events.treatment(line, source) for line in lines if not line.subject.is_group]


def group_treatments(lines: Iterable[MedicineLine], source: Source) -> list[Json]:
    """Return every pen's treatment."""
    return [events.group_treatment(line, source) for line in lines if line.subject.is_group]


def programs(lines: Iterable[MedicineLine], source: Source, now: datetime) -> list[Json]:
    """Return every single animal's diagnosis and course."""
    return [events.program(line, source, now) for line in lines if not line.subject.is_group]


def diagnoses(lines: Iterable[MedicineLine], source: Source) -> list[Json]:
    """Return every diagnosis that was written beside one animal's treatment."""
    found = (line for line in lines if line.diagnosis and not line.subject.is_group)
    return [events.diagnosis(line, source) for line in found]


def medicines(lines: Iterable[MedicineLine], source: Source) -> list[Json]:
    """Return the medicines that were given, once each."""
    names = {line.medicine_key: line.medicine for line in lines}
    return [resources.medicine(key, name, source) for key, name in sorted(names.items())]


def animal_sets(lines: Iterable[MedicineLine], source: Source) -> list[Json]:
    """Return the pens that were treated, once each."""
    pens = {line.subject.key: line for line in lines if line.subject.is_group}
    return [events.animal_set(line, source) for _, line in sorted(pens.items())]


def animals(facts: Iterable[AnimalFacts], source: Source) -> list[Json]:
    """Return the animals of the species that the standard knows."""
    return [row for each in facts if (row := resources.animal(each, source)) is not None]


def whole(
    lines: tuple[MedicineLine, ...], facts: Iterable[AnimalFacts], source: Source, now: datetime
) -> list[Json]:
    """Return everything, the farm first: what a file holds."""
    of_lines: tuple[Callable[[Iterable[MedicineLine], Source], list[Json]], ...] = (
        medicines,
        animal_sets,
        treatments,
        group_treatments,
        diagnoses,
    )
    return [
        resources.location(source),
        *animals(facts, source),
        *(row for kind in of_lines for row in kind(lines, source)),
        *programs(lines, source, now),
    ]
