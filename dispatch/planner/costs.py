"""What a plan costs, term by term, in points.

Each term is one function and one name; a plan reports the sum of every name. Those that
depend on one minute alone take an integer or a whole array of minutes alike.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import accumulate, pairwise
from typing import Any, cast

from dispatch.planner.parameters import Lateness
from dispatch.planner.plan import Outcome, Route, Stop, Unassigned
from dispatch.planner.problem import Job, Level, Problem, Role, Stage, Vet
from dispatch.planner.rules import is_binding, level_for

NEVER_LEFT = 100_000_000
"""Dearer than anything that meeting a job which must be met can do to the rest of a plan."""


def late_points(figures: Lateness, job: Job, start: Any) -> Any:
    """Minutes after arrive-by at the price of the urgency, dearer once the outcome has worsened."""
    if job.arrive_by is None:
        return start * 0
    late = (start - job.arrive_by) * (start > job.arrive_by)
    dear_from = job.arrive_by if job.worse_at is None else max(job.arrive_by, job.worse_at)
    dear = 0 if job.worse_at is None else (start - dear_from) * (start > dear_from)
    return figures.late_per_min * (100 * late + (figures.worse_rate_percent - 100) * dear) // 100


def worse_points(figures: Lateness, job: Job, start: Any) -> Any:
    """One step once the vet starts after the minute from which the outcome worsens."""
    return start * 0 if job.worse_at is None else figures.worse_step * (start > job.worse_at)


def waiting_points(figures: Lateness, job: Job, start: Any) -> Any:
    """A small price for every minute since the call, so that nobody is forgotten."""
    return figures.waiting_per_min * (start - job.waiting_since) * (start > job.waiting_since)


def start_points(problem: Problem, job: Job, start: Any) -> Any:
    """Everything a job costs by being started at this minute."""
    figures = problem.weights.lateness[job.urgency]
    return (
        late_points(figures, job, start)
        + worse_points(figures, job, start)
        + waiting_points(figures, job, start)
    )


def pairing_points(problem: Problem, vet: Vet, job: Job) -> Counter[str]:
    """What sending this vet to this job costs whatever the hour."""
    weights, points = problem.weights, Counter[str]()
    held = [level_for(problem, vet, group) for group in job.skills]
    if job.vets_needed == 1 and Level.WITH_PHONE_SUPPORT in held:
        points["phone_support"] = weights.phone_support
    lacking = sum(vet.skills.get(skill) != Level.SOLO for skill in job.preferred)
    if lacking:
        points["not_preferred_skill"] = weights.not_preferred_skill * lacking
    alone = only_holder_of(problem, vet)
    if alone and not alone & frozenset().union(*job.skills):
        points["last_with_skill"] = weights.last_with_skill
    points["fairness"] = weights.fairness * vet.share
    return points


def only_holder_of(problem: Problem, vet: Vet) -> frozenset[str]:
    """The scarce skills that of all vets who may be sent tonight only this one does alone."""
    key = ("only_holder_of", vet.id)
    if key not in problem.memo:
        others = [each for each in problem.vets if each.id != vet.id and not each.stood_down]
        problem.memo[key] = frozenset(
            skill
            for skill in problem.scarce_skills
            if not vet.stood_down
            and vet.skills.get(skill) == Level.SOLO
            and all(other.skills.get(skill) != Level.SOLO for other in others)
        )
    return cast("frozenset[str]", problem.memo[key])


def cleaning_points(problem: Problem, last: Job, following: Job) -> int:
    """What going straight from one farm to a cleaner one costs."""
    return problem.weights.dirty_to_clean * max(0, last.soiling - following.soiling)


def calling_out_points(problem: Problem, vet: Vet) -> Counter[str]:
    """What it costs to use this vet at all: sleep broken, the second called on."""
    weights, points = problem.weights, Counter[str]()
    if vet.asleep:
        points["waking"] = weights.waking * (1 + vet.wakes_tonight)
    if vet.role == Role.SECOND:
        points["second_on_call"] = weights.second_on_call
    return points


def awake_points(vet: Vet, minute: int) -> int:
    """The curve of being awake, summed from minute 0 up to this one."""
    bounds = [start for start, _ in vet.awake_cost[1:]] + [minute]
    return (
        sum(
            points * max(0, min(minute, end) - max(start, 0))
            for (start, points), end in zip(vet.awake_cost, bounds, strict=True)
        )
        if vet.awake_cost
        else 0
    )


def awake_curve(vet: Vet, longest: int) -> list[int]:
    """`awake_points` of every minute below this one, at once."""
    rate = [0] * longest
    for (start, points), (end, _) in pairwise([*vet.awake_cost, (longest, 0)]):
        first, last = max(start, 0), min(end, longest)
        rate[first:last] = [points] * (last - first)
    return list(accumulate(rate, initial=0))[:longest]


def past_shift_points(problem: Problem, vet: Vet, home_at: Any) -> Any:
    """Minutes between the end of the shift and being home; of one minute or of an array of them."""
    if vet.shift_end is None:
        return 0
    return problem.weights.past_shift_end_per_min * (home_at - vet.shift_end) * (home_at > vet.shift_end)


def is_pushed_back(problem: Problem, vet: str, before: Iterable[str], job: str) -> bool:
    """Whether accepted work waits behind work that was not accepted before it."""
    mine = problem.commitment_of.get((job, vet))
    if mine is None or mine.stage != Stage.ACCEPTED:
        return False
    return any(not is_binding(problem, vet, other) for other in before)


def route_points(problem: Problem, route: Route) -> Counter[str]:
    """The terms one vet's route pays, lateness of the jobs apart."""
    points = Counter[str]()
    if not route.stops or route.home_at is None:
        return points
    vet = problem.vet_by_id[route.vet]
    points += calling_out_points(problem, vet)
    points["driving"] = problem.weights.driving_per_min * route.drive_min
    points["past_shift_end"] = past_shift_points(problem, vet, route.home_at)
    points["awake"] = awake_points(vet, route.home_at) - awake_points(vet, route.stops[0].leave)
    for index, stop in enumerate(route.stops):
        points += pairing_points(problem, vet, problem.job_by_id[stop.job])
        earlier = [other.job for other in route.stops[:index]]
        points["pushed_back"] += problem.weights.pushed_back * is_pushed_back(
            problem, route.vet, earlier, stop.job
        )
    for last, following in pairwise(problem.job_by_id[stop.job] for stop in route.stops):
        points["dirty_to_clean"] += cleaning_points(problem, last, following)
    return points


def served_points(problem: Problem, job: Job, stop: Stop) -> Counter[str]:
    """Late, worse and waiting of a job somebody goes to; once, from the first of two to start."""
    figures = problem.weights.lateness[job.urgency]
    return Counter(
        {
            "late": late_points(figures, job, stop.start),
            "worse": worse_points(figures, job, stop.start),
            "waiting": waiting_points(figures, job, stop.start),
        }
    )


def moved_offers(problem: Problem, routes: Iterable[Route]) -> int:
    """Offers still open that this plan would take back."""
    kept = {(stop.job, route.vet) for route in routes for stop in route.stops}
    offered = [item for item in problem.commitments if item.stage == Stage.OFFERED]
    return sum((item.job, item.vet) not in kept for item in offered)


@dataclass(frozen=True)
class Outside:
    """What becomes of a job that no vet of the plan takes, and what that costs."""

    outcome: Outcome
    points: Counter[str]
    start: int | None = None
    neighbour: str | None = None

    @property
    def total(self) -> int:
        return sum(self.points.values())


def outside_options(problem: Problem, job: Job) -> tuple[Outside, ...]:
    """Every way to leave the job, cheapest first; 'cannot be met' is always among them."""
    known = problem.memo.get(("outside", job.id))
    if known is None:
        known = problem.memo["outside", job.id] = _outside_options(problem, job)
    return cast("tuple[Outside, ...]", known)


def _outside_options(problem: Problem, job: Job) -> tuple[Outside, ...]:
    figures = problem.weights.lateness[job.urgency]
    ways = [_missed(problem, job)]
    if job.must_be_met:
        ways[0].points["missed"] += NEVER_LEFT
        return tuple(ways)
    if job.day_team_at is not None:
        start = max(job.day_team_at, job.earliest_start)
        points = _started_outside(problem, job, start) + Counter(deferred=figures.deferred)
        ways.append(Outside(Outcome.DEFERRED, points, start=start))
    for neighbour in problem.neighbours:
        if neighbour.skills is None or all(group & neighbour.skills for group in job.skills):
            at = neighbour.ready_min + problem.drive(neighbour.place, job.place)
            start = max(at, job.earliest_start)
            points = _started_outside(problem, job, start) + Counter(hand_over=problem.weights.hand_over)
            ways.append(Outside(Outcome.HAND_OVER, points, start=start, neighbour=neighbour.id))
    binding = sum(item.binding for item in problem.commitments if item.job == job.id)
    for way in ways:
        way.points["dropped"] += problem.weights.dropped * binding
    if job.kind == "booked":
        ways = [way for way in ways if way.outcome != Outcome.HAND_OVER]
    return tuple(sorted(ways, key=lambda way: way.total))


def _started_outside(problem: Problem, job: Job, start: int) -> Counter[str]:
    figures = problem.weights.lateness[job.urgency]
    return Counter(
        {
            "late": late_points(figures, job, start),
            "worse": worse_points(figures, job, start),
            "waiting": waiting_points(figures, job, start),
        }
    )


def _missed(problem: Problem, job: Job) -> Outside:
    """Nobody goes: dearer than the latest start that the problem allows."""
    points = _started_outside(problem, job, problem.horizon_min)
    return Outside(
        Outcome.CANNOT_BE_MET, points + Counter(missed=problem.weights.lateness[job.urgency].missed)
    )


def plan_points(problem: Problem, routes: Iterable[Route], unassigned: Iterable[Unassigned]) -> Counter[str]:
    """Every term of a whole plan, by name."""
    routes = tuple(routes)
    points = Counter[str]()
    led: dict[str, Stop] = {}
    for route in routes:
        points.update(route_points(problem, route))
        for stop in route.stops:
            led[stop.job] = min(led.get(stop.job, stop), stop, key=lambda each: each.start)
    for job, stop in led.items():
        points.update(served_points(problem, problem.job_by_id[job], stop))
    for left in unassigned:
        points.update(_left_points(problem, left, left.job in led))
    points["moved_offer"] += problem.weights.moved_offer * moved_offers(problem, routes)
    return Counter({name: value for name, value in points.items() if value})


def _left_points(problem: Problem, left: Unassigned, someone_goes: bool) -> Counter[str]:
    """What a job left over costs; short of its second vet, it pays the price of being missed alone."""
    job = problem.job_by_id[left.job]
    if someone_goes:
        return Counter(missed=problem.weights.lateness[job.urgency].missed)
    return next(
        way.points
        for way in outside_options(problem, job)
        if (way.outcome, way.neighbour) == (left.outcome, left.neighbour)
    )
