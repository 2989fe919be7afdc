"""All that one animal had of a class within some hours: every syringe counts."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from cases.medicines.given import Syringe


@dataclass(frozen=True)
class Tally:
    """The most that comes together within the window, this syringe being in it.

    `syringes` counts what was added up; `unreckoned` those near it whose mg nobody knows.
    """

    mg: Decimal
    syringes: int
    unreckoned: int


def moments(syringe: Syringe) -> tuple[datetime, ...]:
    """Return when each dose of it was given; where only the first and last are known, evenly between."""
    if syringe.doses < 2:
        return (syringe.first_at,)
    step = (syringe.last_at - syringe.first_at) / (syringe.doses - 1)
    return tuple(syringe.first_at + step * number for number in range(syringe.doses))


def tally(this: Syringe, earlier: Iterable[Syringe], window: timedelta) -> Tally:
    """Return the largest sum within any window, [start, start + window], that holds a dose of this one.

    The end counts in, so that two doses a window apart are added rather than not. One more syringe
    never lowers the sum.
    """
    others = tuple(earlier)
    doses = [(at, each.mg or Decimal(0), each is this) for each in (this, *others) for at in moments(each)]
    sums = [_within(doses, start, start + window) for start, _, _ in doses]
    mg, count = max(found for found in sums if found is not None)
    own = moments(this)
    near = (each for each in others if each.mg is None and _near(moments(each), own, window))
    return Tally(mg, count, sum(1 for _ in near))


def _within(
    doses: list[tuple[datetime, Decimal, bool]], start: datetime, end: datetime
) -> tuple[Decimal, int] | None:
    """Return the sum and the count of the doses in it, None where this syringe has none there."""
    found = [(mg, own) for at, mg, own in doses if start <= at <= end]
    if not any(own for _, own in found):
        return None
    return sum((mg for mg, _ in found), Decimal(0)), len(found)


def _near(times: tuple[datetime, ...], own: tuple[datetime, ...], window: timedelta) -> bool:
    return any(abs(one - other) <= window for one in times for other in own)
