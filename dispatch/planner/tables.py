"""What one vet's routes are priced and limited by, as arrays over (job, minute) and (move, last)."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache, cached_property

import numpy as np
import numpy.typing as npt

from dispatch.planner.choices import (
    Move,
    VetChoices,
    calling_out_total,
    exempt_mask,
    last_start,
    must_come_after,
    pairing_total,
)
from dispatch.planner.costs import awake_curve, cleaning_points, past_shift_points, start_points
from dispatch.planner.problem import Problem, Stage
from dispatch.planner.rows import HALVES
from dispatch.planner.rules import is_binding, latest_home

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]
NO_LIMIT = 1 << 30


@dataclass(frozen=True)
class MoveArrays:
    """The moves out of one load, as columns."""

    job: Ints
    after: Ints
    total: Ints  # [move, last]
    drive: Ints
    floor: Ints
    first: Ints
    last: Ints
    code: Ints


class VetTable:
    """Prices, times and limits of one vet as arrays over (job, minute) and (move, last)."""

    def __init__(self, problem: Problem, choices: VetChoices, base: "VetTable | None" = None) -> None:
        self.choices, self.vet = choices, choices.vet
        jobs = choices.jobs
        self.size = len(jobs)
        self.bit = np.left_shift(np.int64(1), np.arange(self.size, dtype=np.int64))
        self.planned = np.array([problem.planned_min(job) for job in jobs], dtype=np.int64)
        self.home = np.array([problem.drive(job.place, self.vet.home) for job in jobs], dtype=np.int64)
        self.earliest = np.array([job.earliest_start for job in jobs], dtype=np.int64)
        self.last_start = np.array(last_start(problem, choices), dtype=np.int64)
        self.pairing = np.array(
            [HALVES * pairing_total(problem, self.vet, job) for job in jobs], dtype=np.int64
        )
        self.cleaning = np.zeros((self.size, self.size + 1), dtype=np.int64)  # [job, last]
        self.cleaning[:, : self.size] = [
            [HALVES * cleaning_points(problem, last, job) for last in jobs] for job in jobs
        ] or 0
        self.calling_out = HALVES * calling_out_total(problem, self.vet)
        self.driving = HALVES * problem.weights.driving_per_min
        limit = latest_home(problem, self.vet)
        self.home_limit = NO_LIMIT if limit is None else limit
        self.exempt = exempt_mask(problem, choices)
        self._order(problem)
        self._prices(problem)
        self.arrays = cache(lambda load: self._arrays(choices.moves(load)))
        self.base = base or self

    def _order(self, problem: Problem) -> None:
        later = must_come_after(problem, self.choices)
        self.blocked_by = np.array([sum(1 << other for other in each) for each in later], dtype=np.int64)
        held = [problem.commitment_of.get((job.id, self.vet.id)) for job in self.choices.jobs]
        binding = [is_binding(problem, self.vet.id, job.id) for job in self.choices.jobs]
        self.new_work = sum(1 << index for index, mine in enumerate(binding) if not mine)
        accepted = [item is not None and item.stage == Stage.ACCEPTED for item in held]
        self.pushed_back = np.array(
            [HALVES * problem.weights.pushed_back * each for each in accepted], dtype=np.int64
        )
        self.has_left = np.array([item is not None and item.eta_min is not None for item in held], dtype=bool)

    def _prices(self, problem: Problem) -> None:
        jobs = self.choices.jobs
        span = np.arange(problem.horizon_min + 1, dtype=np.int64)
        self.by_start = np.array(
            [(HALVES // job.vets_needed) * start_points(problem, job, span) for job in jobs], dtype=np.int64
        ).reshape(self.size, len(span))
        longest = (
            problem.horizon_min
            + max((int(p + h) for p, h in zip(self.planned, self.home, strict=True)), default=0)
            + 1
        )
        self.awake = HALVES * np.array(awake_curve(self.vet, longest), dtype=np.int64)
        self.by_home = self.awake + HALVES * past_shift_points(problem, self.vet, np.arange(longest))

    def _arrays(self, moves: list[Move]) -> MoveArrays:
        def table(pick: Callable[[Move], list[int]]) -> Ints:
            return np.array([pick(move) for move in moves], dtype=np.int64).reshape(len(moves), self.size + 1)

        return MoveArrays(
            np.array([move.job for move in moves], dtype=np.int64),
            np.array([move.after for move in moves], dtype=np.int64),
            table(lambda move: [leg.total_min for leg in move.legs]),
            table(lambda move: [leg.drive_min for leg in move.legs]),
            table(lambda move: [leg.floor for leg in move.legs]),
            np.array([move.start.first for move in moves], dtype=np.int64),
            np.array([move.start.last for move in moves], dtype=np.int64),
            np.array([move.code for move in moves], dtype=np.int64),
        )

    def soonest_start(self, job: str) -> int:
        """A minute before which this vet cannot start the job, whatever comes before it."""
        index = [each.id for each in self.choices.jobs].index(job)
        total, _, floor = self.base.soonest
        return max(
            self.vet.free_from + int(total[index].min()), int(floor[index].min()), int(self.earliest[index])
        )

    def every_load(self) -> Iterator[int]:
        """All loads that can be reached; only asked of a base table, which has few."""
        load = 0
        while load < len(self.choices.loads):
            self.arrays(load)
            yield load
            load += 1

    @cached_property
    def soonest(self) -> tuple[Ints, Ints, Ints]:
        """The least total, driving and floor into each job [job, last] over all loads and ways."""
        least = [np.full((self.size, self.size + 1), NO_LIMIT, dtype=np.int64) for _ in range(3)]
        for arrays in map(self.arrays, self.every_load()):
            for target, source in zip(least, (arrays.total, arrays.drive, arrays.floor), strict=True):
                np.minimum.at(target, arrays.job, source)
        return least[0], least[1], least[2]

    @cached_property
    def least_drive(self) -> Ints:
        """The fewest minutes at the wheel into each job [job, last], from `last` or any other job."""
        drive = self.soonest[1]
        others = np.where(np.eye(self.size, dtype=bool), NO_LIMIT, drive[:, : self.size])
        return np.minimum(drive, others.min(axis=1, initial=NO_LIMIT)[:, None])
