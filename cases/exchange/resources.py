"""The farm, its animals and its medicines, as resources of the standard."""

from dataclasses import dataclass

from cases.exchange.identifiers import Json, Source
from cases.exchange.words import SPECIE


@dataclass(frozen=True)
class AnimalFacts:
    """What is known of an animal; `status` is a word of the standard: Alive, Dead, OffFarm, Unknown."""

    tag: str
    farm_number: str
    species: str
    in_milk: bool
    status: str


def location(source: Source) -> Json:
    """Return the farm as an icarLocationResource."""
    return {
        "resourceType": "icarLocationResource",
        "identifier": source.location(),
        "name": source.location_name,
        "timeZoneId": source.time_zone,
    }


def animal(facts: AnimalFacts, source: Source) -> Json | None:
    """Return an animal as an icarAnimalCoreResource; None for a species that the standard has no word for.

    Its sex is on no record here unless she is milked, and is given as unknown.
    """
    if facts.species not in SPECIE:
        return None
    row: Json = {
        "resourceType": "icarAnimalCoreResource",
        "identifier": source.animal(facts.tag),
        "location": source.location(),
        "specie": SPECIE[facts.species],
        "gender": "Female" if facts.in_milk else "Unknown",
        "status": facts.status,
    }
    row |= {"managementTag": facts.farm_number} if facts.farm_number else {}
    row |= {"lactationStatus": "Lactating"} if facts.in_milk else {}
    return row


def medicine(key: int, name: str, source: Source) -> Json:
    """Return a medicine by its active substance as an icarMedicineResource. The label governs."""
    return {
        "resourceType": "icarMedicineResource",
        "name": name,
        "registeredID": {"id": str(key), "scheme": source.scheme("medicine")},
    }
