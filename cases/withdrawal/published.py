"""Published withdrawal figures with their marks: starting rows for a formulary and facts for the tests.

A row is a figure somebody printed, not a label in the hand. Rows recalled from memory are kept
for orientation and are never to be used as a label (`may_seed_a_label`).
"""

import csv
import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from functools import cache
from pathlib import Path

from cases.withdrawal.periods import Commodity, LabelPeriod, Length, PeriodError, Unit

DATA = Path(__file__).parent / "data" / "published_periods.csv"
COMMODITIES = {
    "milk": Commodity.MILK,
    "meat": Commodity.MEAT,
    "meat and offal": Commodity.MEAT,
    "eggs": Commodity.EGGS,
}
UNITS = {"h": Unit.HOURS, "hours": Unit.HOURS, "d": Unit.DAYS, "days": Unit.DAYS, "milkings": Unit.MILKINGS}


@dataclass(frozen=True)
class PublishedPeriod:
    """One printed figure, `value` and `unit` as printed; `excluded` are classes it may not be used in."""

    jurisdiction: str
    substance: str
    route: str
    species_class: str
    commodity: str
    value: str
    unit: str
    basis: str
    source: str
    mark: str
    note: str
    excluded: frozenset[str]
    min_dry_days: int | None

    @property
    def is_label(self) -> bool:
        """The figure is a label's or a residue data service's, not a rule for the minimum."""
        return "minimum" not in self.basis and self.basis != "off-label"

    @property
    def may_seed_a_label(self) -> bool:
        """The figure was read in a stored public text and is a label's own."""
        return self.basis.startswith("label") and self.mark == "verified in stored public text"

    def cites(self, section: str) -> bool:
        """Say whether the row comes from that section: '522.970', not '522.9701' or '522.970a'."""
        return re.search(rf"(?<![\d.]){re.escape(section)}(?![\da-z])", self.source) is not None

    def entry(self) -> LabelPeriod:
        """Return the figure as a label entry."""
        return read_period(self.commodity, self.value, self.unit, min_dry_days=self.min_dry_days)


def read_period(commodity: str, value: str, unit: str, *, min_dry_days: int | None = None) -> LabelPeriod:
    """Return the label entry that a table's words mean. A blank value is unknown, never zero."""
    kind = COMMODITIES.get(commodity.strip().lower())
    if kind is None:
        raise PeriodError(f"{commodity!r} is not milk, meat or eggs.")
    if not value.strip():
        return LabelPeriod(kind)
    calving = "after calving" in unit
    return LabelPeriod(
        kind,
        Length(_number(value), _unit(unit)),
        from_calving=calving,
        min_dry_days=min_dry_days if calving else None,
    )


def _number(text: str) -> Decimal:
    try:
        return Decimal(text.strip())
    except InvalidOperation as error:
        raise PeriodError(f"{text!r} is not a number. Write the period as a number and its unit.") from error


def _unit(text: str) -> Unit:
    word = text.split()[0].lower() if text.split() else ""
    if word not in UNITS:
        raise PeriodError(f"{text!r} is not a unit. Write h, d or milkings.")
    return UNITS[word]


@cache
def published_periods() -> tuple[PublishedPeriod, ...]:
    """Return every row held here."""
    with DATA.open(encoding="utf-8", newline="") as rows:
        return tuple(_row(row) for row in csv.DictReader(rows))


def _row(row: dict[str, str]) -> PublishedPeriod:
    return PublishedPeriod(
        jurisdiction=row["jurisdiction"],
        substance=row["substance"],
        route=row["route"],
        species_class=row["species_class"],
        commodity=row["commodity"],
        value=row["value"],
        unit=row["unit"],
        basis=row["basis"],
        source=row["source"],
        mark=row["verified"],
        note=row["note"],
        excluded=frozenset(filter(None, row["excluded_classes"].split(";"))),
        min_dry_days=int(row["min_dry_days"]) if row["min_dry_days"] else None,
    )


def label_for(
    rows: Iterable[PublishedPeriod], animal_class: str, gives: Iterable[Commodity]
) -> tuple[LabelPeriod, ...]:
    """Return the entries for a class of animal; one that every row shuts out is refused for all it gives."""
    rows = tuple(rows)
    allowed = [row for row in rows if animal_class not in row.excluded]
    if rows and not allowed:
        return tuple(LabelPeriod(commodity, not_for_use=True) for commodity in gives)
    return tuple(row.entry() for row in allowed)
