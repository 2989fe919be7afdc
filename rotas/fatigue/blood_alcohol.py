"""Hours awake beside blood alcohol: what is said before the drive home.

Figures as published, each with source and mark; they are of groups on tests, no measure of a person. A
vet who says "not safe" does not drive, whatever the hours.
"""

import csv
from dataclasses import dataclass
from datetime import timedelta
from functools import cache
from pathlib import Path

from rotas.rest.localtime import hours, in_words
from rotas.rest.marks import AWAKE, AWAKE_DRIVING, LONG_DRIVE_MIN, Level

DATA = Path(__file__).parent / "data"
LOWER, HIGHER = 0.05, 0.10
ADVICE = {
    Level.GREEN: "",
    Level.AMBER: "Rest first, 20 minutes in the car are no shame; have somebody drive you if you can.",
    Level.RED: "Do not drive: ask for a lift or a bed. The car is fetched later.",
}


@dataclass(frozen=True)
class Measured:
    """One measure of table 6 of Williamson & Feyer 2000: hours awake that equal each blood alcohol."""

    task: str
    measure: str
    lower: float
    higher: float
    mark: str
    source: str


@dataclass(frozen=True)
class DriveHome:
    """What is said before a drive; the level is that of the mark for hours awake."""

    level: Level
    sentence: str


@cache
def table_6() -> tuple[Measured, ...]:
    """Return the measures of table 6."""
    with (DATA / "williamson_feyer_table6.csv").open(newline="") as file:
        return tuple(
            Measured(
                row["task"],
                row["measure"],
                float(row["hours_005"]),
                float(row["hours_010"]),
                row["mark"],
                row["source"],
            )
            for row in csv.DictReader(file)
        )


@cache
def named_hours() -> dict[float, str]:
    """Return hours awake and the blood alcohol in percent that Dawson & Reid 1997 name for them."""
    with (DATA / "hours_awake_and_alcohol.csv").open(newline="") as file:
        return {float(row["hours"]): row["percent"] for row in csv.DictReader(file) if row["hours"]}


def measures_reached(awake_h: float, percent: float) -> int:
    """Return how many measures of table 6 were, after so many hours, as at that blood alcohol or worse."""
    if percent not in (LOWER, HIGHER):
        raise ValueError(f"The table knows {LOWER} and {HIGHER} %, not {percent}.")
    return sum(1 for each in table_6() if awake_h >= (each.lower if percent == LOWER else each.higher))


def equivalents(awake: timedelta) -> tuple[str, ...]:
    """Return what the studies say of so many hours awake, a sentence each; none before the first figure."""
    awake_h, of = hours(awake), len(table_6())
    said = [
        f"{count} of {of} measures were by then as at {percent:.2f} % alcohol (Williamson & Feyer 2000)."
        for percent in (LOWER, HIGHER)
        if (count := measures_reached(awake_h, percent))
    ]
    named = [(hour, percent) for hour, percent in named_hours().items() if awake_h >= hour]
    for hour, percent in named[-1:]:
        said.append(f"{hour:g} h awake equalled {percent} % alcohol (Dawson & Reid 1997).")
    return tuple(said)


def for_the_drive_home(awake: timedelta, drive_min: int) -> DriveHome:
    """Return the level and what is said before a drive of so many minutes; raw hours first."""
    level = (AWAKE_DRIVING if drive_min > LONG_DRIVE_MIN else AWAKE).level(hours(awake))
    raw = f"Awake about {in_words(awake)}, {drive_min} min to drive."
    return DriveHome(level, " ".join(filter(None, (raw, *equivalents(awake), ADVICE[level]))))
