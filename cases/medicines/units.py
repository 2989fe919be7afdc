"""Amounts and strengths: milligrams, grams, millilitres, litres and international units."""

import re
from dataclasses import dataclass
from decimal import ROUND_FLOOR, Decimal
from enum import StrEnum


class Unit(StrEnum):
    """The units that arithmetic is done in; anything else, such as a tube, stays as it was written."""

    MG = "mg"
    G = "g"
    ML = "ml"
    L = "l"
    IU = "IU"


SPELLINGS = {
    "mg": Unit.MG, "mgs": Unit.MG, "milligram": Unit.MG, "milligrams": Unit.MG,
    "g": Unit.G, "gram": Unit.G, "grams": Unit.G,
    "ml": Unit.ML, "mls": Unit.ML, "cc": Unit.ML, "millilitre": Unit.ML, "millilitres": Unit.ML,
    "l": Unit.L, "litre": Unit.L, "litres": Unit.L, "liter": Unit.L, "liters": Unit.L,
    "iu": Unit.IU, "unit": Unit.IU, "units": Unit.IU,
}  # fmt: skip
THOUSAND = Decimal(1000)


def unit_of(word: str) -> Unit | None:
    """Return the unit that a word means, None for one that cannot be reckoned with."""
    return SPELLINGS.get(word.strip().lower().replace(".", ""))


@dataclass(frozen=True)
class Amount:
    """How much of something."""

    value: Decimal
    unit: Unit

    def in_ml(self) -> Decimal | None:
        """Return the volume in ml, None for a mass."""
        if self.unit == Unit.L:
            return self.value * THOUSAND
        return self.value if self.unit == Unit.ML else None

    def in_mg(self, mg_per_ml: Decimal | None) -> Decimal | None:
        """Return mg of active substance; a volume needs the strength, and IU have no mass here."""
        if self.unit == Unit.MG:
            return self.value
        if self.unit == Unit.G:
            return self.value * THOUSAND
        volume = self.in_ml()
        return None if volume is None or mg_per_ml is None else volume * mg_per_ml


def amount_of(value: Decimal, word: str) -> Amount | None:
    """Return the amount as it can be reckoned with, None where the unit is none that can."""
    unit = unit_of(word)
    return None if unit is None else Amount(value, unit)


def ml_of(mg: Decimal, mg_per_ml: Decimal) -> Decimal:
    """Return the ml that hold so many mg."""
    return mg / mg_per_ml


PERCENT = re.compile(r"\s*(\d+(?:\.\d+)?)\s*%\s*(?:w/v)?\s*", re.IGNORECASE)
MG_PER_ML = re.compile(r"\s*(\d+(?:\.\d+)?)\s*mg\s*/\s*ml\s*", re.IGNORECASE)


def mg_per_ml_of(strength: str) -> Decimal | None:
    """Return mg in 1 ml from a strength as it stands on the bottle: '2 %' is 20, '20 mg/ml' is 20.

    None for anything else, two substances in one bottle among it: which of them is meant is not said.
    """
    percent, plain = PERCENT.fullmatch(strength), MG_PER_ML.fullmatch(strength)
    if percent:
        return Decimal(percent[1]) * 10
    return Decimal(plain[1]) if plain else None


def figure(value: Decimal, places: int = 2) -> str:
    """Return a figure as a person writes it: '4,800', '3.33'."""
    rounded = round(value, places)
    text = f"{rounded:,.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def at_most(value: Decimal) -> str:
    """Return a figure rounded down to a tenth, for what must not be exceeded."""
    return figure(value.quantize(Decimal("0.1"), ROUND_FLOOR), 1)
