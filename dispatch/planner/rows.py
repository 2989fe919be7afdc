"""What any choice of routes must add up to: the rules between vets, each under its plain sentence.

A row is a sum over the routes chosen and the side decisions (a job left, a place unfilled, a
common start) with a least and a most. The linear relaxation and the exact choice read the
same rows, so a rule cannot hold in one and not in the other. Costs are in half points.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from dispatch.planner.choices import CommonStarts, Row
from dispatch.planner.costs import Outside, outside_options, start_points
from dispatch.planner.plan import Outcome
from dispatch.planner.problem import Job, Problem, Stage

HALVES = 2
Bounds = tuple[Row, int, int]


@dataclass(frozen=True)
class Side:
    """A yes-or-no decision beside the routes: what it costs and what it adds to which rows."""

    cost: int
    adds: Mapping[Row, int]
    forbidden: bool = False
    job: str | None = None
    way: Outside | None = None


@dataclass(frozen=True)
class Rows:
    """All rows of a problem with their bounds, the side decisions, and a cost paid in any case."""

    bounds: Mapping[Row, tuple[int, int]]
    sides: tuple[Side, ...]
    fixed_cost: int


def every_job_is_served_or_left(problem: Problem, starts: CommonStarts) -> Iterator[Bounds]:
    """Every job gets as many vets as it needs, or is left as a whole."""
    for job in problem.jobs:
        yield ("cover", job.id), job.vets_needed, job.vets_needed


def a_vet_drives_one_route(problem: Problem, starts: CommonStarts) -> Iterator[Bounds]:
    """No vet drives two routes."""
    for vet in problem.vets:
        yield ("vet", vet.id), 0, 1


def accepted_work_keeps_its_vet(problem: Problem, starts: CommonStarts) -> Iterator[Bounds]:
    """Whoever accepted a job goes to it, unless it is left altogether."""
    for item in problem.commitments:
        if item.binding:
            yield ("hold", item.job, item.vet), 1, 1


def two_vets_start_together(problem: Problem, starts: CommonStarts) -> Iterator[Bounds]:
    """A shared job starts once, and both its vets are there for that start."""
    for job in shared_jobs(problem):
        if job.id in starts:
            yield ("once", job.id), 1, 1
        for start in starts.get(job.id, ()):
            yield start.row, 0, 0


def one_of_two_leads(problem: Problem, starts: CommonStarts) -> Iterator[Bounds]:
    """Of two vets at a common start at least one holds what the job asks for."""
    for job in shared_jobs(problem):
        for start in starts.get(job.id, ()):
            yield ("lead", *start.row), 0, 2


def one_of_two_brings_the_kit(problem: Problem, starts: CommonStarts) -> Iterator[Bounds]:
    """Of two vets at a common start at least one brings the kit."""
    for job in shared_jobs(problem):
        for start in starts.get(job.id, ()) if job.kit else ():
            yield ("kit", *start.row), 0, 2


def a_shelf_gives_what_it_has(problem: Problem, starts: CommonStarts) -> Iterator[Bounds]:
    """No more pieces are fetched from a shelf than lie on it."""
    for index, store in enumerate(problem.stores):
        yield ("stock", index), 0, store.count


def a_neighbour_takes_what_it_can(problem: Problem, starts: CommonStarts) -> Iterator[Bounds]:
    """A neighbouring practice is not given more calls than it can take."""
    for neighbour in problem.neighbours:
        yield ("neighbour", neighbour.id), 0, neighbour.most_calls


RULES = (
    every_job_is_served_or_left,
    a_vet_drives_one_route,
    accepted_work_keeps_its_vet,
    two_vets_start_together,
    one_of_two_leads,
    one_of_two_brings_the_kit,
    a_shelf_gives_what_it_has,
    a_neighbour_takes_what_it_can,
)


def rows_of(problem: Problem, starts: CommonStarts) -> Rows:
    """Every rule's rows, and every decision beside the routes."""
    bounds = {row: (least, most) for rule in RULES for row, least, most in rule(problem, starts)}
    sides: list[Side] = []
    for job in problem.jobs:
        sides += [_leave(problem, job, way, bounds) for way in outside_options(problem, job)]
        if job.vets_needed == 2:
            sides += _common_starts(problem, job, starts)
    return Rows(bounds, tuple(sides), _offers_taken_back(problem))


def shared_jobs(problem: Problem) -> list[Job]:
    """Jobs for two vets."""
    return [job for job in problem.jobs if job.vets_needed == 2]


def must_be_done(problem: Problem, job: Job) -> bool:
    """Work under way or signed for cannot be left, nor what is asked to be met."""
    return job.must_be_met or any(item.exempt for item in problem.commitments if item.job == job.id)


def may_be_short(problem: Problem, job: Job) -> bool:
    """One vet may start alone where the job already is that vet's and no second can come."""
    if job.must_be_met:
        return False
    return job.vets_needed == 2 and any(item.binding for item in problem.commitments if item.job == job.id)


def _leave(problem: Problem, job: Job, way: Outside, bounds: Mapping[Row, tuple[int, int]]) -> Side:
    """Leaving a job fills all its rows by itself."""
    adds: dict[Row, int] = {("cover", job.id): job.vets_needed, ("once", job.id): 1}
    adds.update({("hold", item.job, item.vet): 1 for item in problem.commitments if item.job == job.id})
    if way.outcome == Outcome.HAND_OVER:
        adds["neighbour", str(way.neighbour)] = 1
    adds = {row: count for row, count in adds.items() if row in bounds}
    return Side(HALVES * way.total, adds, must_be_done(problem, job), job.id, way)


def _common_starts(problem: Problem, job: Job, starts: CommonStarts) -> Iterator[Side]:
    """Choosing a common start asks for two vets, one to lead and one with the kit; one short asks less."""
    short = may_be_short(problem, job)
    missed = HALVES * problem.weights.lateness[job.urgency].missed
    for start in starts.get(job.id, ()):
        company = [("lead", *start.row)] + [("kit", *start.row)] * bool(job.kit)
        yield Side(0, {start.row: -2, ("once", job.id): 1, **dict.fromkeys(company, -1)})
        if short:
            late = int(start_points(problem, job, min(start.first, problem.horizon_min)))
            yield Side(missed + late, {("cover", job.id): 1, start.row: 1, **dict.fromkeys(company, 1)})
    if short and job.id not in starts:
        yield Side(missed + int(start_points(problem, job, job.earliest_start)), {("cover", job.id): 1})


def _offers_taken_back(problem: Problem) -> int:
    """The price of taking back every open offer; a route that keeps one gets it returned."""
    offers = sum(item.stage == Stage.OFFERED for item in problem.commitments)
    return HALVES * problem.weights.moved_offer * offers
