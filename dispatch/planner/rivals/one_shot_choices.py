"""What one CP-SAT model of a whole night decides: who goes where in which order, how equipped, and when.

Per vet one circuit through the jobs gone to, from where the vet is now to home. An arc is a drive to a
job in one way of coming equipped. A shared job that both vets start together has one start; where the
second may follow, each vet has a start.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from ortools.sat.python import cp_model
from ortools.sat.python.cp_model_helper import Literal

from dispatch.planner.choices import jobs_for
from dispatch.planner.costs import Outside, outside_options
from dispatch.planner.kit import Leg, Load, Pickup, pickups
from dispatch.planner.problem import Job, Problem, Vet
from dispatch.planner.rows import may_be_short, must_be_done
from dispatch.planner.rules import latest_start, may_precede
from dispatch.planner.timetable import leg_to

Condition = cp_model.BoundedLinearExpression | bool
Expression = cp_model.LinearExpr | int
Pair = tuple[str, str]
Wait = tuple[list[Literal], int]
"""A minute that a job waits for where all the literals hold."""


@dataclass(frozen=True)
class Arc:
    """One drive of one vet; `origin` None is from where the vet is now, `target` None is home."""

    vet: Vet
    origin: Job | None
    target: Job | None
    taken: cp_model.IntVar
    leg: Leg
    way: Pickup | None = None


@dataclass
class Choices:
    """The variables of the model, by vet id, job id or (vet id, job id).

    `waits` are filled by the rules of kit, `leads` by that of a second who may follow.
    """

    problem: Problem
    model: cp_model.CpModel
    jobs: Mapping[str, tuple[Job, ...]]
    goes: dict[Pair, cp_model.IntVar] = field(default_factory=dict)
    ways: dict[Pair, list[tuple[Pickup, cp_model.IntVar]]] = field(default_factory=dict)
    used: dict[str, cp_model.IntVar] = field(default_factory=dict)
    start: dict[Pair, cp_model.IntVar] = field(default_factory=dict)
    first: dict[str, cp_model.IntVar] = field(default_factory=dict)
    home: dict[str, cp_model.IntVar] = field(default_factory=dict)
    gone: dict[str, cp_model.IntVar] = field(default_factory=dict)
    left: dict[str, list[tuple[Outside, cp_model.IntVar]]] = field(default_factory=dict)
    short: dict[str, cp_model.IntVar] = field(default_factory=dict)
    arcs: list[Arc] = field(default_factory=list)
    into: dict[Pair, list[Arc]] = field(default_factory=lambda: defaultdict(list))
    leads: dict[Pair, cp_model.IntVar] = field(default_factory=dict)
    waits: dict[Pair, list[Wait]] = field(default_factory=lambda: defaultdict(list))

    def vets_of(self, job: Job) -> list[Vet]:
        """The vets who could go to the job."""
        return [vet for vet in self.problem.vets if (vet.id, job.id) in self.goes]

    def longest_home(self, vet: Vet) -> int:
        """The last minute the vet could be home."""
        drive, planned = self.problem.drive, self.problem.planned_min
        after = [planned(job) + drive(job.place, vet.home) for job in self.jobs[vet.id]]
        return self.problem.horizon_min + max(after, default=0)

    def brings(self, vet: Vet, job: Job) -> cp_model.LinearExpr:
        """1 where the vet goes to the job with its kit, or in whatever way where it needs none."""
        return cp_model.LinearExpr.sum([taken for way, taken in self.ways[vet.id, job.id] if way.brings])


def choices_of(problem: Problem, model: cp_model.CpModel, jobs: Mapping[str, tuple[Job, ...]]) -> Choices:
    """All variables, with what is true of them by their shape alone: circuits, one way for each going."""
    found = Choices(problem, model, jobs)
    for job in problem.jobs:
        _leaving(found, job)
    for vet in problem.vets:
        _going(found, vet)
        _circuit(found, vet)
    return found


def lawful_jobs(problem: Problem) -> dict[str, tuple[Job, ...]]:
    """Every job no rule keeps from the vet, by vet."""
    return {vet.id: jobs_for(problem, vet) for vet in problem.vets}


def _leaving(found: Choices, job: Job) -> None:
    model, problem = found.model, found.problem
    found.gone[job.id] = model.new_bool_var(f"left {job.id}")
    found.left[job.id] = [
        (way, model.new_bool_var(f"left {job.id} {way.outcome} {way.neighbour}"))
        for way in outside_options(problem, job)
    ]
    model.add(sum(taken for _, taken in found.left[job.id]) == found.gone[job.id])
    if must_be_done(problem, job):
        model.add(found.gone[job.id] == 0)
    if may_be_short(problem, job):
        found.short[job.id] = model.new_bool_var(f"short {job.id}")
    found.first[job.id] = model.new_int_var(
        min(job.earliest_start, problem.horizon_min - 1), problem.horizon_min - 1, f"first {job.id}"
    )


def _going(found: Choices, vet: Vet) -> None:
    model, problem = found.model, found.problem
    found.used[vet.id] = model.new_bool_var(f"used {vet.id}")
    for job in found.jobs[vet.id]:
        pair = (vet.id, job.id)
        found.goes[pair] = model.new_bool_var(f"{vet.id} to {job.id}")
        found.ways[pair] = [
            (way, model.new_bool_var(f"{vet.id} to {job.id} by {way.stores} {way.brings}"))
            for way in ways_of(problem, vet, found.jobs[vet.id], job)
        ]
        model.add(sum(taken for _, taken in found.ways[pair]) == found.goes[pair])
        found.start[pair] = _start(found, vet, job)
        model.add(found.start[pair] <= latest_start(problem, vet, job)).only_enforce_if(found.goes[pair])
    found.home[vet.id] = model.new_int_var(0, found.longest_home(vet), f"home {vet.id}")


def _start(found: Choices, vet: Vet, job: Job) -> cp_model.IntVar:
    """The job's one start; where the second may follow, the vet's own."""
    if job.second_within_min == 0:
        return found.first[job.id]
    horizon = found.problem.horizon_min - 1
    return found.model.new_int_var(min(job.earliest_start, horizon), horizon, f"start {vet.id} {job.id}")


def ways_of(problem: Problem, vet: Vet, jobs: tuple[Job, ...], job: Job) -> tuple[Pickup, ...]:
    """Every way of coming equipped, whatever the load: what is in the car then decides which can be."""
    anything = Load(tuple((code, 1) for code in sorted(job.kit)))
    ways = dict.fromkeys(
        Pickup(Load(), way.stores, brings=way.brings) for way in pickups(problem, vet, job, anything)
    )
    at_hand = {item.code for item in vet.kit if item.ready_at <= 0}
    always = at_hand - {code for other in jobs for code in other.kit_used}
    return tuple(way for way in ways if always.isdisjoint(problem.stores[shelf].code for shelf in way.stores))


def _circuit(found: Choices, vet: Vet) -> None:
    jobs, model = found.jobs[vet.id], found.model
    drives: list[tuple[int, int, Literal]] = [(0, 0, ~found.used[vet.id])]
    for number, job in enumerate(jobs, 1):
        drives.append((number, number, ~found.goes[vet.id, job.id]))
    number_of = {job.id: number for number, job in enumerate(jobs, 1)}
    for arc in _arcs(found, vet):
        found.arcs.append(arc)
        if arc.target is not None:
            found.into[vet.id, arc.target.id].append(arc)
        ends = [0 if job is None else number_of[job.id] for job in (arc.origin, arc.target)]
        drives.append((ends[0], ends[1], arc.taken))
    model.add_circuit(drives)
    for job in jobs:
        for way, taken in found.ways[vet.id, job.id]:
            by_way = [arc.taken for arc in found.into[vet.id, job.id] if arc.way == way]
            model.add(sum(by_way) == taken)


def _arcs(found: Choices, vet: Vet) -> Iterator[Arc]:
    problem, jobs = found.problem, found.jobs[vet.id]
    for target in jobs:
        name = f"{vet.id} {target.id}"
        home = problem.drive(target.place, vet.home)
        yield Arc(vet, target, None, found.model.new_bool_var(f"{name} home"), Leg(home, home, 0))
        for origin in (None, *jobs):
            if origin is not None and (
                origin is target or not may_precede(problem, vet.id, origin.id, target.id)
            ):
                continue
            for way, _ in found.ways[vet.id, target.id]:
                leg = leg_to(problem, vet, None if origin is None else origin.place, target, way)
                taken = found.model.new_bool_var(f"{name} after {'' if origin is None else origin.id}")
                yield Arc(vet, origin, target, taken, leg, way)
