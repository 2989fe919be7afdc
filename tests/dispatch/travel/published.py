"""Published detour factors and speeds, with the mark of how each was read."""

import csv
from pathlib import Path

DATA = Path(__file__).parents[2] / "data"
VERIFIED = "verified in stored public text"


def rows(name: str) -> list[dict[str, str]]:
    """Return the rows of a table of published figures."""
    with (DATA / name).open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def detour_factors() -> list[float]:
    """Return every published detour factor, low and high ends apart."""
    values = [row["detour_factor"].replace("/", "-") for row in rows("travel_circuity.csv")]
    return [float(part) for value in values if value and "=" not in value for part in value.split("-")]


def speed_km_h(study: str, setting: str) -> float:
    """Return one published average that was verified."""
    named = [row for row in rows("travel_speeds.csv") if row["study"].startswith(study)]
    found = [row for row in named if setting in row["setting"]]
    assert len(found) == 1
    assert found[0]["verified"] == VERIFIED
    return float(found[0]["km_h_derived"])
