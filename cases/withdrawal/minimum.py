"""Outside the label: the least that the law lets a vet write, by jurisdiction and date.

This is a floor for a vet's own period and never a proposal; the box stays empty.
"""

import csv
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from enum import StrEnum
from functools import cache
from math import ceil
from pathlib import Path

from cases.withdrawal.periods import Commodity, LabelPeriod, Length, Unit

DATA = Path(__file__).parent / "data" / "minimums.csv"


class Basis(StrEnum):
    """Which branch of a rule set applies."""

    LONGEST = "longest"
    NOT_FOR_COMMODITY = "not_for_commodity"
    ZERO = "zero"
    FLAT = "flat"


@dataclass(frozen=True)
class MinimumRule:
    """One row of a rule set, in force [from, until); `factor` multiplies the longest label period."""

    jurisdiction: str
    starts: date
    ends: date | None
    commodity: Commodity
    basis: Basis
    factor: Decimal | None
    length: Length | None
    rounds_up: bool
    citation: str
    mark: str
    source: str

    def holds(self, jurisdiction: str, on: date, commodity: Commodity) -> bool:
        """Say whether the row is in force there, then, for that commodity."""
        dated = self.starts <= on and (self.ends is None or on < self.ends)
        return dated and (self.jurisdiction, self.commodity) == (jurisdiction, commodity)

    def least(self, longest: Length | None) -> timedelta:
        """Return the minimum in real hours. Figures in days round up to whole days everywhere."""
        if self.length is not None:
            return self.length.elapsed()
        assert self.factor is not None
        assert longest is not None
        least = longest.elapsed() * float(self.factor)
        whole_days = self.rounds_up or longest.unit == Unit.DAYS
        return timedelta(days=ceil(least / timedelta(days=1))) if whole_days else least


@dataclass(frozen=True)
class Minimum:
    """The floor for a vet's period: `least` is None where the law gives no figure."""

    jurisdiction: str
    commodity: Commodity
    least: timedelta | None
    sentence: str
    citation: str = ""
    mark: str = ""


@cache
def minimum_rules() -> tuple[MinimumRule, ...]:
    """Return the rows of every rule set held here."""
    with DATA.open(encoding="utf-8", newline="") as rows:
        return tuple(_rule(row) for row in csv.DictReader(rows))


def _rule(row: dict[str, str]) -> MinimumRule:
    return MinimumRule(
        jurisdiction=row["jurisdiction"],
        starts=date.fromisoformat(row["from"]),
        ends=date.fromisoformat(row["until"]) if row["until"] else None,
        commodity=Commodity(row["commodity"]),
        basis=Basis(row["basis"]),
        factor=Decimal(row["factor"]) if row["factor"] else None,
        length=Length(Decimal(row["value"]), Unit(row["unit"])) if row["value"] else None,
        rounds_up=row["round_up_to_days"] == "yes",
        citation=row["citation"],
        mark=row["mark"],
        source=row["source"],
    )


def minimum(
    jurisdiction: str, on: date, commodity: Commodity, labels: Iterable[LabelPeriod] | None
) -> Minimum:
    """Return the least period for a use outside the label on that day.

    `labels` are the medicine's entries for any species and route; empty means it is not
    authorised for food animals, None means that nobody has looked them up.
    """
    rules = {rule.basis: rule for rule in minimum_rules() if rule.holds(jurisdiction, on, commodity)}
    if not rules:
        return Minimum(jurisdiction, commodity, None, _no_figure(jurisdiction, on))
    if Basis.FLAT in rules:
        return _minimum(rules[Basis.FLAT], None)
    if labels is None:
        return Minimum(
            jurisdiction,
            commodity,
            None,
            "The minimum depends on the longest period on any of the medicine's labels. Look it up first.",
        )
    longest = longest_length(labels, commodity)
    return _minimum(rules[_basis(longest, rules)], longest)


def longest_length(labels: Iterable[LabelPeriod], commodity: Commodity) -> Length | None:
    """Return the longest period on any label for the commodity, None if none gives one."""
    lengths = [
        entry.length
        for entry in labels
        if entry.commodity == commodity and entry.length and entry.length.unit != Unit.DEGREE_DAYS
    ]
    return max(lengths, key=lambda length: (length.elapsed(), length.unit == Unit.DAYS), default=None)


def _basis(longest: Length | None, rules: dict[Basis, MinimumRule]) -> Basis:
    if longest is None:
        return Basis.NOT_FOR_COMMODITY
    return Basis.ZERO if longest.value == 0 and Basis.ZERO in rules else Basis.LONGEST


def _minimum(rule: MinimumRule, longest: Length | None) -> Minimum:
    least = rule.least(longest)
    reason = {
        Basis.FLAT: "the flat minimum of that date",
        Basis.LONGEST: f"{rule.factor} x the longest label period ({longest})",
        Basis.NOT_FOR_COMMODITY: f"no label gives a period for {rule.commodity}",
        Basis.ZERO: "the label period is zero",
    }[rule.basis]
    sentence = f"Not less than {in_hours(least)}: {reason}. {rule.citation} ({rule.mark})."
    return Minimum(rule.jurisdiction, rule.commodity, least, sentence, rule.citation, rule.mark)


def _no_figure(jurisdiction: str, on: date) -> str:
    if jurisdiction == "US":
        return (
            "US law gives no figure: the vet sets a substantially extended period from residue data "
            "(21 CFR 530.20), and some medicines may not be used at all."
        )
    where = jurisdiction or "this country"
    return f"No minimum is held here for {where} on {on.isoformat()}: the vet sets the period."


def in_hours(length: timedelta) -> str:
    """Return the length in words: '90 h', '7 d (168 h)'."""
    hours = length / timedelta(hours=1)
    whole = f"{hours:.10g} h"
    return f"{hours / 24:.10g} d ({whole})" if hours >= 48 and hours % 24 == 0 else whole
