"""Parts of the year that come again: the lambing season is when nights on call are hardest."""

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True)
class Season:
    """From one (month, day) to another, both inside; it may pass over New Year."""

    first: tuple[int, int]
    last: tuple[int, int]

    def holds(self, day: date) -> bool:
        """Say whether the day lies in the season."""
        at = (day.month, day.day)
        if self.first <= self.last:
            return self.first <= at <= self.last
        return at >= self.first or at <= self.last


LAMBING = Season((2, 1), (5, 31))  # Feb-May [cp]
