"""A vet's own period, written and signed; never shorter than the law's minimum or the label."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from cases.withdrawal.clock import instant
from cases.withdrawal.minimum import Minimum, in_hours
from cases.withdrawal.periods import Commodity, Length, PeriodError, Unit


class TooShort(PeriodError):
    """The period that the vet wrote is below the minimum."""


@dataclass(frozen=True)
class SignedPeriod:
    """The period that a named vet has set for one commodity of one treatment."""

    commodity: Commodity
    length: Length
    vet: str
    signed_at: datetime


def sign(*, minimum: Minimum, value: Decimal | int | str, unit: Unit, vet: str, at: datetime) -> SignedPeriod:
    """Return the vet's period for the minimum's commodity, or say why it cannot stand."""
    length = Length(Decimal(value), unit)
    if not vet.strip():
        raise PeriodError("A period needs the name of the vet who sets it.")
    if unit == Unit.MILKINGS and minimum.commodity != Commodity.MILK:
        raise PeriodError(
            f"Milkings measure milk only. Write the {minimum.commodity} period in hours or days."
        )
    if unit == Unit.DEGREE_DAYS:
        raise PeriodError("Write the period in hours, days or milkings.")
    if minimum.least is not None and length.elapsed() < minimum.least:
        raise TooShort(
            f"{length} is shorter than the minimum of {in_hours(minimum.least)}. "
            f"Write a longer period. {minimum.sentence}"
        )
    return SignedPeriod(minimum.commodity, length, vet.strip(), instant(at))
