"""One row of a formulary: a product, and what its label says of one use."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from cases.medicines.tables import kind_in_force
from cases.medicines.units import mg_per_ml_of, unit_of
from cases.medicines.vocabulary import LABEL
from cases.withdrawal.periods import Commodity, LabelPeriod, Length, PeriodError, Unit

TEXT_LENGTHS = {
    "substance": 120, "strength": 60, "form": 60, "route": 40, "max_dose_unit": 12,
    "source": 200, "note": 200,
}  # fmt: skip
DOSE_UNITS = ("mg/kg", "g/kg", "ml/kg", "IU/kg", "mg", "g", "ml", "l", "IU")
LONGEST_COURSE = 100  # doses
FORMULA_SIGNS = ("=", "+", "-", "@")


@dataclass(frozen=True)
class Product:
    """A medicine by its active substance."""

    substance: str
    strength: str = ""
    form: str = ""

    def __str__(self) -> str:
        return " ".join(part for part in (self.substance, self.strength, self.form) if part)


@dataclass(frozen=True)
class Use:
    """What an entry is about; of each use one entry is in force at a time."""

    species: str
    route: str
    animal_class: str
    commodity: str
    max_doses: int | None
    jurisdiction: str


@dataclass(frozen=True)
class Says:
    """What the label says of a use, and how well that is known. `value` None: silent, never zero."""

    value: Decimal | None = None
    unit: str = "hours"
    not_for_use: bool = False
    from_calving: bool = False
    min_dry_days: int | None = None
    max_dose: Decimal | None = None
    max_dose_unit: str = ""
    source: str = ""
    mark: str = LABEL
    note: str = ""


@dataclass(frozen=True)
class Entry:
    """One row: `use` and `says` are None where it only says that the practice holds the product.

    In force in [valid_from, valid_until), local days; None is without that end.
    """

    product: Product
    kind: str = ""
    mg_per_ml: Decimal | None = None
    use: Use | None = None
    says: Says | None = None
    valid_from: date | None = None
    valid_until: date | None = None


def product_problem(product: Product, mg_per_ml: Decimal | None) -> tuple[str, str] | None:
    """Return (field, what to do) where the product cannot be meant."""
    if not product.substance:
        return "substance", "write the active substance."
    read = mg_per_ml_of(product.strength)
    if read is not None and mg_per_ml is not None and read != mg_per_ml:
        return "mg_per_ml", f"the strength says {read.normalize():f} mg in 1 ml. Correct one of the two."
    if mg_per_ml is not None and not 0 < mg_per_ml <= 2000:
        return "mg_per_ml", "1 ml holds more than 0 and at most 2,000 mg."
    return None


def strength_of(product: Product, mg_per_ml: Decimal | None) -> Decimal | None:
    """Return mg in 1 ml as said, or as read from the strength."""
    return mg_per_ml if mg_per_ml is not None else mg_per_ml_of(product.strength)


def kind_said(kind: str, substance: str) -> str:
    """Return the class: what the substance is known as, else what was said."""
    return kind_in_force(kind or "other", substance)


def entry_problem(
    use: Use, says: Says, valid_from: date | None, valid_until: date | None
) -> tuple[str, str] | None:
    """Return (field, what to do) where the entry cannot be meant, None where it can."""
    if not use.route:
        return "route", "write the route as the label does, such as IM."
    problem = _period_problem(use, says) or _dose_problem(use, says)
    if problem:
        return problem
    if valid_from and valid_until and valid_until < valid_from:
        return "valid_until", f"this lies before {valid_from}, when the entry begins."
    return None


def _period_problem(use: Use, says: Says) -> tuple[str, str] | None:
    if says.not_for_use and says.value is not None:
        return "value", "leave it empty where the label says 'not for use', or write no there."
    if says.min_dry_days is not None and not says.from_calving:
        return "min_dry_days", "a least dry period belongs to a period that counts from calving."
    try:
        length = None if says.value is None else Length(says.value, Unit(says.unit))
        LabelPeriod(
            Commodity(use.commodity),
            length,
            not_for_use=says.not_for_use,
            from_calving=says.from_calving,
            min_dry_days=says.min_dry_days,
            max_doses=use.max_doses,
        )
    except PeriodError as error:
        return "value", f"{error}"
    return None


def _dose_problem(use: Use, says: Says) -> tuple[str, str] | None:
    if use.max_doses is not None and not 1 <= use.max_doses <= LONGEST_COURSE:
        return "max_doses", f"write from 1 to {LONGEST_COURSE}, or leave it empty."
    if (says.max_dose is None) != (not says.max_dose_unit):
        return "max_dose_unit", f"write the largest dose with its unit: {', '.join(DOSE_UNITS)}."
    if says.max_dose is not None and says.max_dose <= 0:
        return "max_dose", "a largest dose is above 0."
    if says.max_dose_unit and says.max_dose_unit not in DOSE_UNITS:
        return "max_dose_unit", f"write one of {', '.join(DOSE_UNITS)}."
    return None


def dose_unit_of(word: str) -> str:
    """Return a unit of a largest dose in its one spelling, the word itself where it is none."""
    amount, _, each = (part.strip() for part in word.partition("/"))
    unit = unit_of(amount)
    if unit is None or each.lower() not in ("", "kg"):
        return word
    return f"{unit.value}/kg" if each else unit.value
