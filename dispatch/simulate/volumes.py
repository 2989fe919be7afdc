"""How many calls a practice of this size has, and how people answer: all figures are invented [cp].

Shares are per cent. They are to be replaced by a practice's own log at the first chance.
"""

from dataclasses import dataclass
from datetime import datetime, time

WEEKDAY_DAY, WEEKDAY_NIGHT, SATURDAY, SUNDAY = 14.0, 2.2, 9.0, 7.0
"""Unplanned calls expected: weekday 08-18, weekday 18-08, and the whole 24 hours of either day."""

MONTH_INDEX = (0.9, 1.2, 1.7, 1.7, 1.2, 0.8, 0.7, 0.7, 0.8, 0.9, 0.8, 0.6)
DAY_SHARES = (20, 16, 12, 10, 7, 7, 7, 6, 8, 7)
"""Hours 08 to 17 of a weekday."""
NIGHT_SHARES = (13, 13, 11, 10, 7, 5, 4, 3, 3, 3, 3, 5, 9, 11)
"""Hours 18 to 23 and 00 to 07 of a weekday night."""
WEEKEND_SHARES = (
    1.6, 1.2, 1.0, 1.0, 1.2, 2.0, 4.0, 7.0, 10.5, 8.5, 7.0, 6.0,
    4.0, 4.0, 4.0, 4.0, 5.0, 6.0, 5.5, 5.0, 4.0, 3.5, 2.3, 1.7,
)  # fmt: skip
"""Hours 00 to 23 of a Saturday or Sunday."""

NIGHT_SPECIES = {
    "sheep": (8, 22, 40, 42, 18, 6, 6, 6, 4, 3, 3, 5),
    "cattle": (76, 65, 50, 48, 62, 68, 66, 65, 72, 76, 77, 77),
    "horse": (12, 9, 7, 8, 15, 18, 18, 18, 16, 15, 14, 14),
    "other": (4, 4, 3, 2, 5, 8, 10, 11, 8, 6, 6, 4),
}
DISPERSION = 3.0
"""k of the negative binomial: the variance of a night's calls is mean + mean^2 / k."""
VISITED_BY_NIGHT = 0.7
"""Share of night calls that want a visit; the others are settled by telephone and left out here."""

DAY_BEGINS, NIGHT_BEGINS = time(8), time(18)
MONDAY_TO_FRIDAY = range(5)
SATURDAYS = 5


@dataclass(frozen=True)
class Manners:
    """How calls are answered and visits go. Shares are fractions, times minutes; all [cp].

    `ask_spread` is sigma of the lognormal time to accept; a finish without signal is learned late,
    exponentially; a decline or a silence keeps a vet from being asked again for a while.
    """

    accept_median_min: float = 4.0
    ask_spread: float = 0.6
    no_answer: float = 0.06
    declined: float = 0.08
    no_signal: float = 0.30
    learned_late_min: float = 15.0
    overrun: float = 0.05
    overrun_share: float = 0.25
    left_till_morning: float = 0.5
    same_farm_again: float = 0.30
    lapse_immediate_min: int = 5
    lapse_other_min: int = 15
    ask_again_after_silence_min: int = 30
    ask_again_after_no_min: int = 60


def calls_in_hour(local: datetime) -> float:
    """Return how many unplanned calls are expected in the hour that begins at this local time."""
    index = MONTH_INDEX[local.month - 1]
    if local.weekday() not in MONDAY_TO_FRIDAY:
        total = SATURDAY if local.weekday() == SATURDAYS else SUNDAY
        return index * total * WEEKEND_SHARES[local.hour] / sum(WEEKEND_SHARES)
    if DAY_BEGINS <= local.time() < NIGHT_BEGINS:
        return index * WEEKDAY_DAY * DAY_SHARES[local.hour - DAY_BEGINS.hour] / sum(DAY_SHARES)
    return index * WEEKDAY_NIGHT * NIGHT_SHARES[(local.hour - NIGHT_BEGINS.hour) % 24] / sum(NIGHT_SHARES)
