"""Amber and red marks of the fatigue report: where a raw number begins to ask for something.

Staffing marks, not medical limits. Hours, not worth: nobody is ranked by them.
"""

from dataclasses import dataclass
from enum import StrEnum


class Level(StrEnum):
    """How far a number has gone; shown as its word."""

    GREEN = "green"
    AMBER = "amber"
    RED = "red"


RANK = {Level.GREEN: 0, Level.AMBER: 1, Level.RED: 2}


@dataclass(frozen=True)
class Mark:
    """Reached from `amber` and `red` on if `rising`, else below them. `source` names the list of sources."""

    name: str
    words: str
    unit: str
    amber: float
    red: float
    source: str
    rising: bool = True

    def level(self, value: float) -> Level:
        """Return the level of the value."""
        for level, mark in ((Level.RED, self.red), (Level.AMBER, self.amber)):
            if value >= mark if self.rising else value < mark:
                return level
        return Level.GREEN

    def sentence(self, value: float) -> str:
        """Return the raw number in words, with the mark that it has passed if it has passed one."""
        level = self.level(value)
        raw = f"{self.words}: {value:.1f} {self.unit}".replace(".0 ", " ")
        if level == Level.GREEN:
            return f"{raw}."
        mark = self.red if level == Level.RED else self.amber
        return f"{raw} ({level} {'from' if self.rising else 'below'} {mark:g})."


AWAKE = Mark("hours_awake", "Hours awake, estimated", "h", 15, 18, "[S48]")
AWAKE_DRIVING = Mark("hours_awake", "Hours awake, estimated, with over 30 min to drive", "h", 15, 17, "[S48]")
LONGEST_REST = Mark("longest_rest_24h", "Longest unbroken rest in 24 h", "h", 6, 5, "[S40; cp]", rising=False)
WORK_24 = Mark("work_24h", "Work and calls in 24 h", "h", 12, 14, "[cp]")
WORK_72 = Mark("work_72h", "Work and calls in 72 h", "h", 32, 40, "[cp]")
WORK_7D = Mark("work_7d", "Work and calls in 7 d", "h", 55, 65, "[cp]")
DISTURBED = Mark("disturbed_nights_7d", "Disturbed nights in 7 d", "nights", 3, 4, "[cp]")
NIGHTS_RUNNING = Mark(
    "nights_in_a_row", "Nights on duty in a row", "nights", 3, 4, "[S49; figures from memory]"
)
SINCE_DAY_OFF = Mark("hours_since_day_off", "Since the last 24 h off", "h", 144, 168, "[cp]")
NIGHT_KM = Mark("night_km_7d", "Driven between 22:00 and 06:00 in 7 d", "km", 200, 350, "[S50; cp]")
OWED = Mark("rest_owed", "Rest owed and not taken", "h", 6, 11, "[cp]")

LONG_DRIVE_MIN = 30
SELF_REPORT = {"fresh": Level.GREEN, "ok": Level.GREEN, "tired": Level.AMBER, "not_safe": Level.RED}
