"""The checker's own sums: what the plan costs, worked out again from the answer alone."""

from collections import Counter
from collections.abc import Iterator

from dispatch.planner.plan import Outcome, Plan, Route, Stop, Unassigned
from dispatch.planner.problem import Job, Problem, Role, Stage, Vet


def broken_sums(problem: Problem, plan: Plan) -> Iterator[str]:
    """Say where the plan's own figures are not what its routes cost."""
    found = +_points(problem, plan)
    told = +Counter(dict(plan.costs))
    if found != told:
        names = sorted(name for name in {*found, *told} if found[name] != told[name])
        yield "; ".join(f"{name} costs {found[name]}, not {told[name]}" for name in names) + "."
    if plan.cost != sum(plan.costs.values()):
        yield f"The terms add up to {sum(plan.costs.values())}, not {plan.cost}."
    if plan.bound > plan.cost:
        yield f"The plan costs {plan.cost}, less than what was proven to be the least, {plan.bound}."


def _points(problem: Problem, plan: Plan) -> Counter[str]:
    points = Counter[str]()
    for route in plan.routes:
        points.update(_of_route(problem, route))
    for job in problem.jobs:
        going = plan.stops_of(job.id)
        left = next((each for each in plan.unassigned if each.job == job.id), None)
        if going:
            points.update(_of_start(problem, job, going[0][1].start))
        if left is not None:
            points.update(_of_left(problem, job, left, someone_goes=bool(going)))
    for item in problem.commitments:
        kept = any(vet == item.vet for vet, _ in plan.stops_of(item.job))
        if item.stage == Stage.OFFERED and not kept:
            points["moved_offer"] += problem.weights.moved_offer
    return points


def _of_start(problem: Problem, job: Job, start: int) -> Counter[str]:
    figures = problem.weights.lateness[job.urgency]
    points = Counter(waiting=figures.waiting_per_min * max(0, start - job.waiting_since))
    if job.arrive_by is not None and start > job.arrive_by:
        extra = 0 if job.worse_at is None else max(0, start - max(job.arrive_by, job.worse_at))
        rate = figures.worse_rate_percent - 100
        points["late"] = figures.late_per_min * (100 * (start - job.arrive_by) + rate * extra) // 100
    if job.worse_at is not None and start > job.worse_at:
        points["worse"] = figures.worse_step
    return points


def _of_left(problem: Problem, job: Job, left: Unassigned, *, someone_goes: bool) -> Counter[str]:
    figures, weights = problem.weights.lateness[job.urgency], problem.weights
    if someone_goes:
        return Counter(missed=figures.missed)
    if left.outcome == Outcome.CANNOT_BE_MET:
        points = _of_start(problem, job, problem.horizon_min) + Counter(missed=figures.missed)
    elif left.outcome == Outcome.DEFERRED:
        points = _of_start(problem, job, job.day_team_at or 0) + Counter(deferred=figures.deferred)
    else:
        other = next(each for each in problem.neighbours if each.id == left.neighbour)
        there = max(other.ready_min + problem.drive(other.place, job.place), job.earliest_start)
        points = _of_start(problem, job, there) + Counter(hand_over=weights.hand_over)
    held = sum(item.job == job.id and item.stage != Stage.OFFERED for item in problem.commitments)
    points["dropped"] += weights.dropped * held
    return points


def _of_route(problem: Problem, route: Route) -> Counter[str]:
    points = Counter[str]()
    if not route.stops or route.home_at is None:
        return points
    vet, weights = next(each for each in problem.vets if each.id == route.vet), problem.weights
    points["driving"] = weights.driving_per_min * _wheel_min(problem, vet, route)
    points["waking"] = weights.waking * (1 + vet.wakes_tonight) if vet.asleep else 0
    points["second_on_call"] = weights.second_on_call if vet.role == Role.SECOND else 0
    if vet.shift_end is not None:
        points["past_shift_end"] = weights.past_shift_end_per_min * max(0, route.home_at - vet.shift_end)
    points["awake"] = sum(
        _awake_at(vet, minute) for minute in range(max(0, route.stops[0].leave), route.home_at)
    )
    for index, stop in enumerate(route.stops):
        points.update(_of_pair(problem, vet, stop))
        points["pushed_back"] += weights.pushed_back * _waits_behind_new_work(problem, route, index)
    return points


def _awake_at(vet: Vet, minute: int) -> int:
    return next((points for start, points in reversed(vet.awake_cost) if start <= minute), 0)


def _wheel_min(problem: Problem, vet: Vet, route: Route) -> int:
    """Minutes at the wheel; of a drive that is under way only what is left of it."""
    total, place = 0, vet.place
    for index, stop in enumerate(route.stops):
        job = next(each for each in problem.jobs if each.id == stop.job)
        held = problem.commitment_of.get((stop.job, vet.id))
        if index == 0 and held is not None and held.eta_min is not None:
            total += stop.drive_min
        else:
            for at, _ in stop.fetch:
                total += problem.drive(place, at)
                place = at
            total += problem.drive(place, job.place)
        place = job.place
    return total + problem.drive(place, vet.home)


def _of_pair(problem: Problem, vet: Vet, stop: Stop) -> Counter[str]:
    job = next(each for each in problem.jobs if each.id == stop.job)
    lacking = sum(vet.skills.get(skill) != "solo" for skill in job.preferred)
    points = Counter(not_preferred_skill=problem.weights.not_preferred_skill * lacking)
    if job.vets_needed == 1 and any(_only_by_telephone(problem, vet, group) for group in job.skills):
        points["phone_support"] = problem.weights.phone_support
    return points


def _only_by_telephone(problem: Problem, vet: Vet, group: frozenset[str]) -> bool:
    if any(vet.skills.get(skill) == "solo" for skill in group):
        return False
    return any(vet.skills.get(s) == "with_phone_support" and s in problem.phone_support for s in group)


def _waits_behind_new_work(problem: Problem, route: Route, index: int) -> bool:
    held = problem.commitment_of.get((route.stops[index].job, route.vet))
    if held is None or held.stage != Stage.ACCEPTED:
        return False
    before = [problem.commitment_of.get((stop.job, route.vet)) for stop in route.stops[:index]]
    return any(item is None or item.stage == Stage.OFFERED for item in before)
