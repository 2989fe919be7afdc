"""The comparison as people read it: means with 95 % intervals, and differences on the same nights."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import fmean, stdev

from dispatch.simulate.measures import Measures
from dispatch.simulate.run import Compared

Z95 = 1.959964


@dataclass(frozen=True)
class Interval:
    """A mean and the half width of its 95 % interval."""

    mean: float
    half: float

    def __str__(self) -> str:
        digits = 3 if abs(self.mean) < 1 else 1 if abs(self.mean) < 1000 else 0
        return f"{self.mean:.{digits}f} ± {self.half:.{digits}f}"


Amount = Callable[[Measures], float]
ROWS: tuple[tuple[str, Amount], ...] = (
    ("late, weighted", lambda m: m.late),
    ("late and worse, weighted", lambda m: m.late_and_worse),
    ("late min, immediate", lambda m: m.late_min_immediate),
    ("late min, urgent", lambda m: m.late_min_urgent),
    ("late min, same day", lambda m: m.late_min_same_day),
    ("driving 22-06, min", lambda m: m.night_drive_min),
    ("driving 22-06, km", lambda m: m.night_drive_km),
    ("hours worked on call", lambda m: m.hours_worked),
    ("sleep lost 23-06, min", lambda m: m.sleep_lost_min),
    ("vets woken", lambda m: m.woken),
    ("broken nights", lambda m: m.broken_nights),
    ("handed to a neighbour", lambda m: m.handed_over),
    ("begun by the day team", lambda m: m.left_for_day),
    ("exceptions signed beforehand", lambda m: m.exceptions),
    ("sent past the shift's end, signed", lambda m: m.past_shift),
    ("vets past a rest limit, signed", lambda m: m.limits_passed),
    ("UNSIGNED REST BREACHES", lambda m: m.unsigned_breaches),
    ("decisions", lambda m: m.decisions),
    ("seconds deciding", lambda m: m.seconds),
)
"""Every figure is per night."""
IN_TIME = "immediate calls in time, %"


def interval(values: Sequence[float]) -> Interval:
    """Mean and 95 % half width, nights being independent."""
    half = Z95 * stdev(values) / sqrt(len(values)) if len(values) > 1 else 0.0
    return Interval(fmean(values), half)


def share(parts: Sequence[float], wholes: Sequence[float]) -> Interval:
    """A ratio of sums over nights, with its interval by linearization (delta method)."""
    whole = fmean(wholes)
    if whole == 0:
        return Interval(0.0, 0.0)
    ratio = fmean(parts) / whole
    strays = [(part - ratio * each) / whole for part, each in zip(parts, wholes, strict=True)]
    return Interval(ratio, interval(strays).half)


def per_night(nights: Sequence[Compared], policy: str, amount: Amount) -> list[float]:
    """One figure for each night."""
    return [amount(night.measures[policy]) for night in nights]


def in_time(nights: Sequence[Compared], policy: str) -> Interval:
    """Share of immediate calls begun by their time, per cent."""
    met = per_night(nights, policy, lambda m: m.immediate_in_time)
    found = share(met, per_night(nights, policy, lambda m: m.immediate))
    return Interval(100 * found.mean, 100 * found.half)


def in_time_difference(nights: Sequence[Compared], policy: str, reference: str) -> Interval:
    """Difference of the two shares on the same nights, in percentage points."""
    mine, theirs = (per_night(nights, each, lambda m: m.immediate_in_time) for each in (policy, reference))
    gained = [a - b for a, b in zip(mine, theirs, strict=True)]
    found = share(gained, per_night(nights, policy, lambda m: m.immediate))
    return Interval(100 * found.mean, 100 * found.half)


def difference(nights: Sequence[Compared], policy: str, reference: str, amount: Amount) -> Interval:
    """Mean difference on the same nights."""
    pairs = zip(per_night(nights, policy, amount), per_night(nights, reference, amount), strict=True)
    return interval([mine - theirs for mine, theirs in pairs])


def below(nights: Sequence[Compared], policy: str, reference: str, amount: Amount) -> Interval:
    """By how many per cent of the reference's sum the policy lies below it, paired by night."""
    theirs = per_night(nights, reference, amount)
    mine = per_night(nights, policy, amount)
    found = share([b - a for a, b in zip(mine, theirs, strict=True)], theirs)
    return Interval(100 * found.mean, 100 * found.half)


def means(nights: Sequence[Compared], policies: Sequence[str]) -> Iterator[str]:
    """The table of means, a row for each figure, a column for each policy."""
    yield _line("per night", policies)
    yield _line(IN_TIME, [str(in_time(nights, policy)) for policy in policies])
    for title, amount in ROWS:
        yield _line(title, [str(interval(per_night(nights, policy, amount))) for policy in policies])


def differences(nights: Sequence[Compared], policies: Sequence[str], reference: str) -> Iterator[str]:
    """The table of differences to the reference on the same nights."""
    others = [policy for policy in policies if policy != reference]
    yield _line(f"minus {reference}", others)
    yield _line(IN_TIME, [str(in_time_difference(nights, policy, reference)) for policy in others])
    for title, amount in ROWS:
        yield _line(title, [str(difference(nights, policy, reference, amount)) for policy in others])
    for title, amount in ROWS[:2]:
        yield _line(f"{title}: % below", [str(below(nights, policy, reference, amount)) for policy in others])


def bounds(nights: Sequence[Compared], policies: Sequence[str]) -> Iterator[str]:
    """What nobody could have beaten, how tight that is, and how far above it the policies are."""
    for title, amount, name in (
        ("late, weighted", ROWS[0][1], "bound"),
        ("late and worse, weighted", ROWS[1][1], "bound_with_steps"),
    ):
        found = [getattr(night, name) for night in nights]
        least, plan = interval([each.least for each in found]), interval([each.found for each in found])
        proven = 100 * fmean(each.proven for each in found)
        yield f"{title}: at least {least}; loosened plan {plan}, proven best on {proven:.1f} % of nights"
        for policy in policies:
            above = interval(per_night(nights, policy, amount)).mean - least.mean
            yield f"    {policy:<16} {above:.1f} above the bound"


def _line(title: str, cells: Sequence[str]) -> str:
    return f"{title:<36}" + "".join(f"{cell:>20}" for cell in cells)
