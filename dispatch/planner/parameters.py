"""What a plan is weighed by: every weight named, all in one unit, points.

One hundred points are one same-day call being one minute late. The figures for lateness are
common practice and are meant to be tuned on a practice's own log [cp]; none of them is a law.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from enum import StrEnum
from typing import Any

POINTS_PER_LATE_MINUTE = 100


class ProblemError(ValueError):
    """A planning problem that contradicts itself; says which field and why."""

    def __init__(self, where: str, reason: str) -> None:
        super().__init__(f"{where}: {reason}")
        self.where = where
        self.reason = reason


def require(condition: bool, where: str, reason: str) -> None:
    """Refuse the problem unless the condition holds."""
    if not condition:
        raise ProblemError(where, reason)


def _require_points(where: str, value: Any) -> None:
    """Refuse a price that is not whole, or is below nothing."""
    require(isinstance(value, int), where, f"must be whole points, not {value!r}")
    require(value >= 0, where, "must not be negative")


class Urgency(StrEnum):
    """Urgency words, most urgent first. A booked visit has its own window instead."""

    IMMEDIATE = "immediate"
    URGENT = "urgent"
    SAME_DAY = "same_day"
    NEXT_WORKING_DAY = "next_working_day"
    ADVICE = "advice"
    BOOKED = "booked"


@dataclass(frozen=True)
class Lateness:
    """How one urgency is weighed, in points [cp].

    `late_per_min` counts from arrive-by, `worse_step` is paid once when the outcome worsens,
    after which a minute costs `worse_rate_percent` of its former price; `waiting_per_min` is the
    small price of every minute since the call; `deferred` is the price of leaving it to the day
    team on top of the waiting, `missed` that of nobody going at all.
    """

    late_per_min: int
    worse_step: int
    waiting_per_min: int
    deferred: int
    missed: int
    worse_rate_percent: int = 150

    def __post_init__(self) -> None:
        for item in fields(self):
            _require_points(f"lateness.{item.name}", getattr(self, item.name))
        require(
            self.worse_rate_percent >= 100,
            "lateness.worse_rate_percent",
            "must be at least 100, or waiting longer would become cheaper",
        )


def _default_lateness() -> dict[Urgency, Lateness]:
    return {
        Urgency.IMMEDIATE: Lateness(2000, 300_000, 50, 500_000, 2_000_000),
        Urgency.URGENT: Lateness(600, 120_000, 15, 60_000, 800_000),
        Urgency.SAME_DAY: Lateness(100, 30_000, 3, 6_000, 300_000),
        Urgency.NEXT_WORKING_DAY: Lateness(10, 2_000, 1, 0, 60_000),
        Urgency.ADVICE: Lateness(10, 1_000, 1, 0, 30_000),
        Urgency.BOOKED: Lateness(100, 0, 0, 3_000, 200_000),
    }


@dataclass(frozen=True)
class Weights:
    """Prices of everything beside lateness, in points [cp].

    `waking` is paid for each time a sleeping vet is woken and once more for every earlier waking
    tonight; `second_on_call` for using the second at all; `moved_offer` when a call on offer goes
    to someone else; `pushed_back` when new work goes in before work already accepted;
    `dropped` when accepted work can no longer be kept; `hand_over` for a neighbouring practice;
    `dirty_to_clean` for each level of soiling by which the next farm is cleaner than the last
    (changing, washing and disinfecting take 10 to 15 min); `last_with_skill` for sending the only
    holder of a scarce skill to work that does not need it; `fairness` for each late call-out that
    the vet has had more than others: less than a minute of anything, so that it only breaks ties.
    """

    lateness: Mapping[Urgency, Lateness] = field(default_factory=_default_lateness)
    driving_per_min: int = 20
    past_shift_end_per_min: int = 100
    waking: int = 2_000
    second_on_call: int = 3_000
    not_preferred_skill: int = 500
    phone_support: int = 500
    moved_offer: int = 2_000
    pushed_back: int = 3_000
    dropped: int = 300_000
    hand_over: int = 40_000
    dirty_to_clean: int = 500
    last_with_skill: int = 1_500
    fairness: int = 1

    def __post_init__(self) -> None:
        missing = [word for word in Urgency if word not in self.lateness]
        require(not missing, "weights.lateness", f"no figures for {', '.join(missing)}")
        for item in fields(self):
            value: Any = getattr(self, item.name)
            if item.name != "lateness":
                _require_points(f"weights.{item.name}", value)


@dataclass(frozen=True)
class SolverParameters:
    """How hard to look: seconds of wall clock, threads, and the seed that makes a run repeat.

    `deterministic_time`, where given, replaces the wall clock inside CP-SAT, so that two runs
    with one worker give the same plan on any machine. `ranking_seconds` bounds the re-solving
    that prices 30 more minutes of waiting, and `changes_seconds` that which says what picking
    another vet would change (0: it is not said), each on top of `time_limit_s`.
    """

    time_limit_s: float = 5.0
    workers: int = 1
    seed: int = 1
    deterministic_time: float | None = None
    ranking_seconds: float = 1.5
    ranking_wait_min: int = 30
    changes_seconds: float = 1.5

    def __post_init__(self) -> None:
        require(0 <= self.time_limit_s <= 3600, "time_limit_s", "must be between 0 and 3600 seconds")
        require(1 <= self.workers <= 64, "workers", "must be between 1 and 64")
        require(0 <= self.seed < 2**31, "seed", "must be a non-negative 31-bit number")
        require(self.ranking_seconds >= 0, "ranking_seconds", "must not be negative")
        require(self.changes_seconds >= 0, "changes_seconds", "must not be negative")
        require(self.ranking_wait_min >= 1, "ranking_wait_min", "must be at least one minute")
        require(
            self.deterministic_time is None or self.deterministic_time > 0,
            "deterministic_time",
            "must be more than zero, or left out",
        )
