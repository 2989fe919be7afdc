"""The Three-Process Model of alertness: sleep pressure S, the body clock C and U, waking up W.

Written from the published equations with the published parameters (data/tpm.csv, each with source and
mark). Hours throughout; floats or arrays. More is more alert.
"""

import csv
import math
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TypeVar, cast

import numpy as np
import numpy.typing as npt

DATA = Path(__file__).parent / "data" / "tpm.csv"
DAY_H, HALF_DAY_H, U_LAG_H = 24, 12, 3

Values = npt.NDArray[np.float64]
Hours = TypeVar("Hours", float, Values)


@dataclass(frozen=True)
class Parameters:
    """The model's parameters under their published names."""

    la: float
    ha: float
    d: float
    g: float
    bl: float
    Cm: float
    Ca: float
    p: float
    Um: float
    Ua: float
    Wc: float
    Wd: float
    S0: float

    @property
    def rise(self) -> float:
        """How much S gains in an hour asleep below the break level."""
        return self.g * (self.bl - self.ha)


@cache
def published() -> Parameters:
    """Return the published parameters."""
    with DATA.open(newline="") as file:
        return Parameters(**{row["parameter"]: float(row["value"]) for row in csv.DictReader(file)})


def s_awake(at_waking: Hours, hours: Hours, p: Parameters) -> Hours:
    """Return S after so many hours awake."""
    return p.la + (at_waking - p.la) * _exp(p.d * hours)


def s_asleep(at_onset: Hours, hours: Hours, p: Parameters, *, as_published: bool = False) -> Hours:
    """Return S after so many hours asleep: a straight line up to the break level, then ever slower.

    Falling asleep above the break level, the published software starts a little beside S (12.5
    becomes 12.4796). `as_published` does the same, to compare figures; otherwise S goes on from S.
    """
    turn = break_time(at_onset, p) if as_published else _continuous_break(at_onset, p)
    line = at_onset + hours * p.rise
    curve = p.ha - (p.ha - p.bl) * _exp(p.g * (hours - turn))
    return _where(hours < turn, line, curve)


def break_time(at_onset: Hours, p: Parameters) -> Hours:
    """Return the hours from falling asleep to the break level; negative above it."""
    return (p.bl - at_onset) / p.rise


def _continuous_break(at_onset: Hours, p: Parameters) -> Hours:
    """Do the same, above the break level by the curve: when S would have been at the level."""
    if isinstance(at_onset, float) and at_onset <= p.bl:
        return break_time(at_onset, p)
    above = _log(_where(at_onset > p.bl, (p.ha - at_onset) / (p.ha - p.bl), at_onset * 0 + 1))
    return _where(at_onset > p.bl, -above / p.g, break_time(at_onset, p))


def c_at(clock: Hours, p: Parameters) -> Hours:
    """Return C at an hour of the local clock (4.5 is half past four)."""
    return p.Cm + p.Ca * _cos(2 * math.pi / DAY_H * (clock - p.p))


def u_at(clock: Hours, p: Parameters) -> Hours:
    """Return U, the dip after midday, at an hour of the local clock."""
    return p.Um + p.Ua * _cos(2 * math.pi / HALF_DAY_H * (clock - p.p - U_LAG_H))


def w_after(hours: Hours, p: Parameters) -> Hours:
    """Return W, what waking up still takes, after so many hours awake."""
    return p.Wc * _exp(p.Wd * hours)


def _exp(value: Hours) -> Hours:
    return np.exp(value) if isinstance(value, np.ndarray) else math.exp(value)


def _log(value: Hours) -> Hours:
    return np.log(value) if isinstance(value, np.ndarray) else math.log(value)


def _cos(value: Hours) -> Hours:
    return np.cos(value) if isinstance(value, np.ndarray) else math.cos(value)


def _where(said: bool | npt.NDArray[np.bool_], one: Hours, other: Hours) -> Hours:
    if isinstance(said, np.ndarray):
        return cast(Hours, np.where(said, one, other))
    return one if said else other
