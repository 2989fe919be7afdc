"""A farm's rows for the open exchange standard."""

from datetime import datetime

from cases.exchange import collection
from cases.exchange.identifiers import Json, Source
from cases.exchange.resources import AnimalFacts
from cases.models import Animal, Location
from cases.services.medicine_record import animals_of, lines_changed_since

KINDS = {
    "treatments": collection.treatments,
    "group-treatments": collection.group_treatments,
    "diagnoses": collection.diagnoses,
    "medicines": collection.medicines,
    "animal-sets": collection.animal_sets,
}
OTHER_KINDS = ("animals", "treatment-programs")


def source_of(location: Location) -> Source:
    """Return where the data come from."""
    practice = location.practice
    return Source(practice.slug, location.pk, location.name, location.holding, practice.time_zone)


def exchanged(location: Location, kind: str, since: datetime | None, now: datetime) -> list[Json]:
    """Return one kind of the farm's resources, those changed since then (animals always all)."""
    source = source_of(location)
    if kind == "animals":
        return collection.animals(_facts(location), source)
    lines = lines_changed_since(location, since)
    if kind == "treatment-programs":
        return collection.programs(lines, source, now)
    return KINDS[kind](lines, source)


def whole_farm(location: Location, now: datetime) -> list[Json]:
    """Return everything that the standard has a place for, for one file."""
    lines = lines_changed_since(location, None)
    return collection.whole(lines, _facts(location), source_of(location), now)


def _facts(location: Location) -> list[AnimalFacts]:
    return [_animal(animal) for animal in animals_of(location)]


def _animal(animal: Animal) -> AnimalFacts:
    """An animal that has left may be dead, sold or culled: it is off the farm, and no more is said."""
    status = "Alive" if animal.ended_at is None else "OffFarm"
    return AnimalFacts(animal.tag, animal.farm_number, animal.species, animal.in_milk, status)
