"""Predicted sleepiness on the Karolinska scale, 1 (very alert) to 9 (fighting sleep), in three forms."""

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np

from rotas.fatigue.tpm import Hours, Values

DATA = Path(__file__).parent / "data" / "kss.csv"
LEAST, MOST = 1.0, 9.0

WITH_W, WITHOUT_W, OLDER = "10.6 with W", "10.6", "10.9"


@dataclass(frozen=True)
class Form:
    """One published line from alertness to sleepiness, with its source and mark."""

    name: str
    intercept: float
    slope: float
    applied_to: str
    mark: str
    source: str
    note: str

    def of(self, alertness: Hours) -> Hours:
        """Return the sleepiness at an alertness, as the line gives it: it may leave the scale."""
        return self.intercept + self.slope * alertness


@cache
def forms() -> dict[str, Form]:
    """Return the forms by name."""
    with DATA.open(newline="") as file:
        return {row["form"]: _form(row) for row in csv.DictReader(file)}


def _form(row: dict[str, str]) -> Form:
    numbers = float(row["intercept"]), float(row["slope"])
    return Form(row["form"], *numbers, row["applied_to"], row["mark"], row["source"], row["note"])


def on_the_scale(sleepiness: Values) -> Values:
    """Return the values held to the scale, as they are shown."""
    return np.clip(sleepiness, LEAST, MOST)
