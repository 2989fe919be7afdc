"""The checker's own sum of a plan's costs, minute by minute where that is the plainest way."""

from collections import Counter

from dispatch.planner.plan import Outcome, Plan, Route, Stop, Unassigned
from dispatch.planner.problem import Job, Level, Problem, Role, Stage, Vet


def summed_costs(problem: Problem, plan: Plan) -> Counter[str]:
    """Points by term, from the stops and the jobs left alone."""
    total = Counter[str]()
    starts: dict[str, int] = {}
    for route in plan.routes:
        if route.stops:
            total.update(_route(problem, route))
            for stop in route.stops:
                starts[stop.job] = min(stop.start, starts.get(stop.job, stop.start))
    for job_id, start in starts.items():
        total.update(_started(problem, problem.job_by_id[job_id], start))
    for left in plan.unassigned:
        total.update(_left(problem, left, left.job in starts))
    pairs = {(stop.job, route.vet) for route in plan.routes for stop in route.stops}
    total["moved_offer"] += problem.weights.moved_offer * sum(
        item.stage == Stage.OFFERED and (item.job, item.vet) not in pairs for item in problem.commitments
    )
    return Counter({name: points for name, points in total.items() if points})


def _started(problem: Problem, job: Job, start: int) -> Counter[str]:
    """Lateness counted in single minutes, as a person with a clock would."""
    figures = problem.weights.lateness[job.urgency]
    points = Counter(waiting=figures.waiting_per_min * len(range(job.waiting_since, start)))
    if job.arrive_by is not None:
        late = range(job.arrive_by, start)
        dear = late if job.worse_at is None else [minute for minute in late if minute >= job.worse_at]
        extra = 0 if job.worse_at is None else (figures.worse_rate_percent - 100) * len(dear)
        points["late"] = figures.late_per_min * (100 * len(late) + extra) // 100
    if job.worse_at is not None and start > job.worse_at:
        points["worse"] = figures.worse_step
    return points


def _route(problem: Problem, route: Route) -> Counter[str]:
    weights, vet = problem.weights, problem.vet_by_id[route.vet]
    home = int(route.home_at or 0)
    points = Counter(
        driving=weights.driving_per_min * route.drive_min, awake=_awake(vet, route.stops[0].leave, home)
    )
    if vet.asleep:
        points["waking"] = weights.waking * (vet.wakes_tonight + 1)
    if vet.role == Role.SECOND:
        points["second_on_call"] = weights.second_on_call
    if vet.shift_end is not None and home > vet.shift_end:
        points["past_shift_end"] = weights.past_shift_end_per_min * (home - vet.shift_end)
    for index, stop in enumerate(route.stops):
        points.update(_pair(problem, vet, problem.job_by_id[stop.job]))
        points["pushed_back"] += weights.pushed_back * _waits_behind_new(
            problem, vet, route.stops[:index], stop
        )
    dirt = [problem.job_by_id[stop.job].soiling for stop in route.stops]
    for index in range(1, len(dirt)):
        if dirt[index] < dirt[index - 1]:
            points["dirty_to_clean"] += weights.dirty_to_clean * (dirt[index - 1] - dirt[index])
    return points


def _awake(vet: Vet, leave: int, home: int) -> int:
    total = 0
    for minute in range(leave, home):
        total += next((points for start, points in reversed(vet.awake_cost) if start <= minute), 0)
    return total


def _pair(problem: Problem, vet: Vet, job: Job) -> Counter[str]:
    weights, points = problem.weights, Counter[str]()
    points["not_preferred_skill"] = weights.not_preferred_skill * sum(
        vet.skills.get(skill) != Level.SOLO for skill in job.preferred
    )
    points["fairness"] = weights.fairness * vet.share
    points["last_with_skill"] = weights.last_with_skill * _is_wasted(problem, vet, job)
    if job.vets_needed == 1:
        by_phone = [
            group
            for group in job.skills
            if not any(vet.skills.get(skill) == Level.SOLO for skill in group)
            and any(
                vet.skills.get(skill) == Level.WITH_PHONE_SUPPORT and skill in problem.phone_support
                for skill in group
            )
        ]
        points["phone_support"] = weights.phone_support * bool(by_phone)
    return points


def _is_wasted(problem: Problem, vet: Vet, job: Job) -> bool:
    """Whether the vet alone can do something scarce tonight, and this job is nothing of the kind."""
    holders = {
        skill: [
            each.id for each in problem.vets if each.skills.get(skill) == Level.SOLO and each.stood_down == ""
        ]
        for skill in problem.scarce_skills
    }
    mine = {skill for skill, names in holders.items() if names == [vet.id]}
    asked = {skill for group in job.skills for skill in group}
    return bool(mine) and not mine & asked


def _waits_behind_new(problem: Problem, vet: Vet, before: tuple[Stop, ...], stop: Stop) -> bool:
    stages = {item.job: item.stage for item in problem.commitments if item.vet == vet.id}
    return stages.get(stop.job) == Stage.ACCEPTED and any(
        stages.get(other.job) in (None, Stage.OFFERED) for other in before
    )


def _left(problem: Problem, left: Unassigned, someone_goes: bool) -> Counter[str]:
    job = problem.job_by_id[left.job]
    figures = problem.weights.lateness[job.urgency]
    if someone_goes:
        return Counter(missed=figures.missed)
    points = _started(problem, job, problem.horizon_min if left.start is None else left.start)
    points[
        {Outcome.DEFERRED: "deferred", Outcome.HAND_OVER: "hand_over", Outcome.CANNOT_BE_MET: "missed"}[
            left.outcome
        ]
    ] = {
        Outcome.DEFERRED: figures.deferred,
        Outcome.HAND_OVER: problem.weights.hand_over,
        Outcome.CANNOT_BE_MET: figures.missed,
    }[left.outcome]
    points["dropped"] = problem.weights.dropped * sum(
        item.job == job.id and item.stage != Stage.OFFERED for item in problem.commitments
    )
    return points
