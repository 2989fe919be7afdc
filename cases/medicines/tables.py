"""The tables of this package: ceilings, standing cautions, what class a substance is, and the sources."""

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from functools import cache
from importlib.resources import files

from cases.medicines.caution import Level

ROUTES = {
    "iv": "iv", "intravenous": "iv", "into the vein": "iv",
    "im": "im", "intramuscular": "im", "into the muscle": "im",
    "sc": "sc", "subcutaneous": "sc", "under the skin": "sc",
    "po": "oral", "oral": "oral", "by mouth": "oral",
    "intramammary": "intramammary", "imm": "intramammary",
    "topical": "topical", "pour-on": "topical",
}  # fmt: skip


def route_word(route: str) -> str:
    """Return one word for one route: 'i.v.', 'IV' and 'intravenous' are the same way in."""
    plain = " ".join(route.lower().replace(".", "").split())
    return ROUTES.get(plain, plain)


@dataclass(frozen=True)
class Ceiling:
    """The most of a class of medicine for one kg, all syringes within the window added up."""

    kind: str
    substances: tuple[str, ...]
    species: str
    warn_mg_per_kg: Decimal
    stop_mg_per_kg: Decimal
    window: timedelta
    source: str
    mark: str
    note: str


@dataclass(frozen=True)
class Standing:
    """A caution of a class of medicine; an empty tuple means every one, '!dry' every one but dry."""

    code: str
    kind: str
    substances: tuple[str, ...]
    species: tuple[str, ...]
    animal_classes: tuple[str, ...]
    routes: tuple[str, ...]
    level: Level
    sentence: str
    source: str
    mark: str

    def applies(self, kind: str, substance: str, species: str, animal_class: str, route: str) -> bool:
        """Say whether it is to be shown for such a treatment."""
        return (
            self.kind == kind
            and (not self.substances or is_one_of(substance, self.substances))
            and _among(species, self.species)
            and _among(animal_class, self.animal_classes)
            and _among(route_word(route), self.routes)
        )


def _among(word: str, words: tuple[str, ...]) -> bool:
    shut_out = {each[1:] for each in words if each.startswith("!")}
    if shut_out:
        return word not in shut_out
    return not words or word in words


def is_one_of(substance: str, names: tuple[str, ...]) -> bool:
    """Say whether the substance begins with one of the names: 'lidocaine hydrochloride' is lidocaine."""
    return substance.strip().lower().startswith(names)


@cache
def ceilings() -> tuple[Ceiling, ...]:
    """Return every ceiling."""
    return tuple(
        Ceiling(
            kind=row["kind"],
            substances=_words(row["substances"]),
            species=row["species"],
            warn_mg_per_kg=Decimal(row["warn_mg_per_kg"]),
            stop_mg_per_kg=Decimal(row["stop_mg_per_kg"]),
            window=timedelta(hours=int(row["window_h"])),
            source=cited(row["source_keys"]),
            mark=row["mark"],
            note=row["note"],
        )
        for row in _rows("ceilings.csv")
    )


def ceiling_for(kind: str, substance: str, species: str) -> Ceiling | None:
    """Return the ceiling for a substance in a species, None where the table has none."""
    found = (row for row in ceilings() if (row.kind, row.species) == (kind, species))
    return next((row for row in found if is_one_of(substance, row.substances)), None)


@cache
def standing() -> tuple[Standing, ...]:
    """Return every standing caution."""
    return tuple(
        Standing(
            code=row["code"],
            kind=row["kind"],
            substances=_words(row["substances"]),
            species=_words(row["species"]),
            animal_classes=_words(row["animal_classes"]),
            routes=_words(row["routes"]),
            level=Level(row["level"]),
            sentence=row["sentence"],
            source=cited(row["source_keys"]),
            mark=row["mark"],
        )
        for row in _rows("cautions.csv")
    )


@cache
def kind_of(substance: str) -> str:
    """Return the class that a substance is known as, 'other' for one that the table does not hold."""
    known = ((row["word"], row["kind"]) for row in _rows("substances.csv"))
    return next((kind for word, kind in known if is_one_of(substance, (word,))), "other")


def kind_in_force(kind: str, substance: str) -> str:
    """Return the class that the warnings go by: what the substance is known as outranks what is recorded."""
    known = kind_of(substance.strip().lower())
    return kind if known == "other" else known


def cited(keys: str) -> str:
    """Return the sources in words with their keys, such as 'Farm Animal Anesthesia [S41]'."""
    titles = _titles()
    found = [key for key in keys.split(";") if key]
    return "; ".join("common practice [cp]" if key == "cp" else f"{titles[key]} [{key}]" for key in found)


@cache
def _titles() -> dict[str, str]:
    return {row["key"]: row["title"] for row in _rows("sources.csv")}


def _words(cell: str) -> tuple[str, ...]:
    return tuple(word for word in cell.split(";") if word)


def _rows(name: str) -> Iterator[dict[str, str]]:
    text = files("cases.medicines").joinpath("data").joinpath(name).read_text(encoding="utf-8")
    return csv.DictReader(text.splitlines(), strict=True)
