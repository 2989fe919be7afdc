"""What each vet can do next from every load of the car: the moves that routes are made of.

A move is one job by one way of coming equipped, from one load of the car to another. All hard
rules that do not depend on the hour have been asked before a move exists.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from dispatch.planner.costs import calling_out_points, pairing_points
from dispatch.planner.kit import Load, Pickup, first_load, pickups
from dispatch.planner.problem import Job, Problem, Vet
from dispatch.planner.rules import can_lead, is_binding, is_exempt, latest_start, may_precede, refusals
from dispatch.planner.timetable import Leg, leg_to

# A row of the relaxation or of the final model that a route may touch, by name:
# ("cover", job) ("vet", vet) ("hold", job, vet) ("stock", store) ("span", job, minute)
# ("lead", "span", job, minute) …
Row = tuple[str | int, ...]


@dataclass(frozen=True)
class Start:
    """Minutes in which a shared job may start, first to last; its own row, and a wider span's row."""

    first: int
    last: int
    row: Row
    span: Row | None = None

    @property
    def rows(self) -> tuple[Row, ...]:
        return (self.row,) if self.span is None else (self.row, self.span)


ANY_TIME = Start(0, 1 << 30, ("any time",))
CommonStarts = Mapping[str, tuple[Start, ...]]


@dataclass(frozen=True)
class Move:
    """Going to one job in one way. `job` is an index into `VetChoices.jobs`, `after` into its loads.

    `legs[i]` is the drive from the place of jobs[i]; the last entry is from where the vet is now.
    The job starts as soon as this vet can within `start`. `code` is a number of its own for every
    start and company of every shared job: the codes along a route add up to what was chosen.
    """

    job: int
    after: int
    pickup: Pickup
    legs: tuple[Leg, ...]
    rows: tuple[Row, ...]
    start: Start = ANY_TIME
    code: int = 0


class TooManyChoices(Exception):
    """More shared jobs with more starts than can be told apart by one number."""


class VetChoices:
    """The loads and moves of one vet, explored as they are asked for.

    `common_starts` lists the minutes in which each shared job may start: two vets choosing the
    same single minute start together. Longer spans, or none given, let each vet start as soon as
    that vet alone could, which is too good to be true and gives a lower bound.
    """

    def __init__(self, problem: Problem, vet: Vet, common_starts: CommonStarts | None = None) -> None:
        self.problem, self.vet = problem, vet
        self.jobs = jobs_for(problem, vet)
        self.loads = [first_load(problem, vet)]
        self._known = {self.loads[0]: 0}
        self._moves: dict[int, list[Move]] = {}
        self._starts = [_starts(job, common_starts) for job in self.jobs]
        self._digits = _digits(self.jobs, self._starts)

    def moves(self, load: int) -> list[Move]:
        """Every move from this load, whatever has been done before."""
        if load not in self._moves:
            self._moves[load] = [move for index in range(len(self.jobs)) for move in self._to(load, index)]
        return self._moves[load]

    def _to(self, load: int, index: int) -> Iterator[Move]:
        job = self.jobs[index]
        for pickup in pickups(self.problem, self.vet, job, self.loads[load]):
            legs = self._legs(job, pickup)
            rows = _rows(self.problem, self.vet, job, pickup)
            for number, start in enumerate(self._starts[index]):
                code = self._digits[index] * (1 + 2 * number + pickup.brings)
                shared = (
                    _shared_rows(self.problem, self.vet, job, pickup, start) if job.vets_needed == 2 else ()
                )
                yield Move(index, self._number(pickup.after), pickup, legs, (*rows, *shared), start, code)

    def _number(self, load: Load) -> int:
        if load not in self._known:
            self._known[load] = len(self.loads)
            self.loads.append(load)
        return self._known[load]

    def _legs(self, job: Job, pickup: Pickup) -> tuple[Leg, ...]:
        places: list[str | None] = [other.place for other in self.jobs]
        return tuple(leg_to(self.problem, self.vet, place, job, pickup) for place in [*places, None])


def _starts(job: Job, common_starts: CommonStarts | None) -> tuple[Start, ...]:
    if job.vets_needed == 1 or common_starts is None:
        return (ANY_TIME,)
    return common_starts.get(job.id, ())


def _digits(jobs: tuple[Job, ...], starts: list[tuple[Start, ...]]) -> list[int]:
    """The place value of each job in the code of a route; 0 for a job of one vet, which needs none."""
    digits, value = [], 1
    for job, mine in zip(jobs, starts, strict=True):
        digits.append(value if job.vets_needed == 2 else 0)
        value *= 2 * len(mine) + 1 if job.vets_needed == 2 else 1
    if value >= 1 << 62:
        raise TooManyChoices
    return digits


def jobs_for(problem: Problem, vet: Vet) -> tuple[Job, ...]:
    """The jobs no rule keeps from this vet whatever the hour."""
    return tuple(job for job in problem.jobs if not refusals(problem, vet, job))


def _rows(problem: Problem, vet: Vet, job: Job, pickup: Pickup) -> tuple[Row, ...]:
    """The rows between vets that a route touches by going to this job."""
    rows: list[Row] = [("cover", job.id)]
    if is_binding(problem, vet.id, job.id):
        rows.append(("hold", job.id, vet.id))
    rows.extend(("stock", store) for store in pickup.stores)
    return tuple(rows)


def _shared_rows(problem: Problem, vet: Vet, job: Job, pickup: Pickup, start: Start) -> tuple[Row, ...]:
    """The rows of being there for a common start, leading it, and bringing the kit to it."""
    rows: list[Row] = []
    for at in start.rows:
        rows.append(at)
        if can_lead(problem, vet, job):
            rows.append(("lead", *at))
        if pickup.brings and job.kit:
            rows.append(("kit", *at))
    return tuple(rows)


def must_come_after(problem: Problem, choices: VetChoices) -> list[set[int]]:
    """For each job, the jobs that may not be done before it: accepted work later, farms under stand-off."""
    vet, jobs = choices.vet.id, choices.jobs
    return [
        {index for index, other in enumerate(jobs) if not may_precede(problem, vet, other.id, job.id)}
        - {mine}
        for mine, job in enumerate(jobs)
    ]


def pairing_total(problem: Problem, vet: Vet, job: Job) -> int:
    """Points of sending this vet whatever the hour, less the offer that is thereby kept."""
    total = sum(pairing_points(problem, vet, job).values())
    held = problem.commitment_of.get((job.id, vet.id))
    return total - (problem.weights.moved_offer if held is not None and not held.binding else 0)


def calling_out_total(problem: Problem, vet: Vet) -> int:
    """Points of using the vet at all."""
    return sum(calling_out_points(problem, vet).values())


def last_start(problem: Problem, choices: VetChoices) -> list[int]:
    """The last allowed start of each job, for this vet."""
    return [latest_start(problem, choices.vet, job) for job in choices.jobs]


def exempt_mask(problem: Problem, choices: VetChoices) -> int:
    """Bits of the jobs a person has signed for or the vet is under way to."""
    return sum(
        1 << index for index, job in enumerate(choices.jobs) if is_exempt(problem, choices.vet.id, job.id)
    )
