"""What a label, or a vet, says about one commodity: a length, a refusal, or nothing at all."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta
from decimal import ROUND_CEILING, Decimal
from enum import StrEnum
from math import inf

LONGEST_DAYS = 3650  # lead has been held for years [S20]; anything longer is a slip of the pen
MILKING_HOURS = 12  # 48 h = 4 milkings, 72 h = 6 (21 CFR 526.464c, 526.1698)


class Commodity(StrEnum):
    """What is sold; `meat` is meat and offal."""

    MILK = "milk"
    MEAT = "meat"
    EGGS = "eggs"


class Unit(StrEnum):
    """The units that stand on labels. A milking counts as 12 h, a day as 24 h."""

    HOURS = "hours"
    DAYS = "days"
    MILKINGS = "milkings"
    DEGREE_DAYS = "degree_days"


class PeriodError(ValueError):
    """A period that cannot be meant; the sentence says what to write instead."""


HOURS_EACH = {Unit.HOURS: 1, Unit.DAYS: 24, Unit.MILKINGS: MILKING_HOURS}


@dataclass(frozen=True)
class Length:
    """How long: `value` >= 0 in `unit`."""

    value: Decimal
    unit: Unit

    def __post_init__(self) -> None:
        if not self.value.is_finite() or self.value < 0:
            raise PeriodError(f"A withdrawal period cannot be {self.value}. Write a number from 0 up.")
        if self.unit != Unit.DEGREE_DAYS and self.value * HOURS_EACH[self.unit] > LONGEST_DAYS * 24:
            raise PeriodError(f"{self} is more than ten years. Check the number and its unit.")

    def elapsed(self, water_c: Decimal | None = None) -> timedelta:
        """Return the length in real hours; degree-days need the mean water temperature in C."""
        if self.unit == Unit.DEGREE_DAYS:
            return timedelta(days=days_for(self.value, water_c))
        return timedelta(seconds=float(self.value * HOURS_EACH[self.unit] * 3600))

    def __str__(self) -> str:
        number = f"{self.value.normalize():f}"
        return f"{number} {self.unit.value.replace('_', '-')}"


def days_for(degree_days: Decimal, water_c: Decimal | None) -> int:
    """Return the whole days, rounded up, that give so many degree-days in water of that temperature."""
    if water_c is None or water_c <= 0:
        raise PeriodError("Degree-days need the mean water temperature, above 0 C.")
    return int((degree_days / water_c).to_integral_value(ROUND_CEILING))


@dataclass(frozen=True)
class LabelPeriod:
    """One label entry. Without a length and without `not_for_use` the label is silent: unknown, not zero.

    `from_calving` counts the length from calving instead of the last dose (dry-cow tubes), and
    `min_dry_days` is the least time from treatment to calving that the label builds on.
    `max_doses` bounds the course that the entry holds for, where the label's period depends on it.
    """

    commodity: Commodity
    length: Length | None = None
    not_for_use: bool = False
    from_calving: bool = False
    min_dry_days: int | None = None
    max_doses: int | None = None

    def __post_init__(self) -> None:
        if self.not_for_use and self.length is not None:
            raise PeriodError(f"'Not for use' and a period for {self.commodity} exclude each other.")
        if self.from_calving and self.commodity != Commodity.MILK:
            raise PeriodError("Only a milk period can count from calving.")
        if self.min_dry_days is not None and not (0 <= self.min_dry_days <= LONGEST_DAYS):
            raise PeriodError("The minimum dry period must be between 0 and 3650 days.")
        if self.length and self.length.unit == Unit.MILKINGS and self.commodity != Commodity.MILK:
            raise PeriodError(f"Milkings measure milk only, not {self.commodity}.")

    @property
    def is_unknown(self) -> bool:
        """The label says nothing about this commodity."""
        return self.length is None and not self.not_for_use


def stated(
    commodity: Commodity, value: Decimal | int | str, unit: Unit, *, max_doses: int | None = None
) -> LabelPeriod:
    """Return the label entry of a plain length."""
    return LabelPeriod(commodity, Length(Decimal(value), unit), max_doses=max_doses)


def dry_cow_milk(value: Decimal | int | str, unit: Unit, *, min_dry_days: int | None) -> LabelPeriod:
    """Return a dry-cow tube's milk entry: a length from calving after a least dry period."""
    return LabelPeriod(
        Commodity.MILK, Length(Decimal(value), unit), from_calving=True, min_dry_days=min_dry_days
    )


def entries_for(
    periods: Iterable[LabelPeriod], commodity: Commodity, doses: int
) -> tuple[LabelPeriod, ...] | None:
    """Return the entries that a course of that many doses has to satisfy, all of them.

    A silent label gives one unknown entry. None when the label has entries but the course is
    longer than any of them allows. Entries for shorter courses stay in, so that one more dose can
    never bring an end forward, whatever a list says.
    """
    entries = [entry for entry in periods if entry.commodity == commodity]
    if not entries:
        return (LabelPeriod(commodity),)
    bound = min((_bound(entry) for entry in entries if doses <= _bound(entry)), default=None)
    if bound is None:
        return None
    return tuple(entry for entry in entries if _bound(entry) <= bound)


def _bound(entry: LabelPeriod) -> float:
    return inf if entry.max_doses is None else entry.max_doses
