"""A second opinion on every plan, in plain Python, by somebody who knows no solver.

Nothing here asks rules.py, timetable.py, kit.py or costs.py: the sentences are worked out again from
the question and the answer alone, so that a slip there is found here. `broken_rules` returns one
sentence for each thing that is wrong; none means that the plan may be kept.
"""

from collections import Counter
from collections.abc import Iterator

from dispatch.planner.check_costs import broken_sums
from dispatch.planner.plan import Plan, Route, Stop
from dispatch.planner.problem import Commitment, Job, Problem, Stage, Vet


def broken_rules(problem: Problem, plan: Plan) -> tuple[str, ...]:
    """Every rule the plan breaks, in words; empty where it keeps them all."""
    names = tuple(_unknown_names(problem, plan))
    if names:
        return names
    return (
        *_counted(problem, plan),
        *(broken for route in plan.routes for broken in _route(problem, route)),
        *_company(problem, plan),
        *_promises(problem, plan),
        *_stores(problem, plan),
        *broken_sums(problem, plan),
    )


def _unknown_names(problem: Problem, plan: Plan) -> Iterator[str]:
    jobs, vets = {job.id for job in problem.jobs}, {vet.id for vet in problem.vets}
    for route in plan.routes:
        if route.vet not in vets:
            yield f"There is no vet {route.vet}."
        yield from (f"There is no job {stop.job}." for stop in route.stops if stop.job not in jobs)
    yield from (f"There is no job {left.job}." for left in plan.unassigned if left.job not in jobs)


def _counted(problem: Problem, plan: Plan) -> Iterator[str]:
    """Every job has all its vets, or is told as left; no vet has two routes."""
    for vet, count in Counter(route.vet for route in plan.routes).items():
        if count > 1:
            yield f"{vet} has {count} routes."
    told = Counter(left.job for left in plan.unassigned)
    for job in problem.jobs:
        vets = [vet for vet, _ in plan.stops_of(job.id)]
        if len(set(vets)) != len(vets):
            yield f"One vet goes to {job.id} twice."
        if len(vets) > job.vets_needed:
            yield f"{len(vets)} vets go to {job.id}, which needs {job.vets_needed}."
        if told[job.id] != (len(vets) < job.vets_needed):
            yield f"{job.id} has {len(vets)} of {job.vets_needed} vets and is left {told[job.id]} times."


def _held(problem: Problem, job: str, vet: str) -> Commitment | None:
    return next((item for item in problem.commitments if (item.job, item.vet) == (job, vet)), None)


def _settled(problem: Problem, job: str, vet: str) -> bool:
    """Signed for, or the vet is on the way: not judged again."""
    held = _held(problem, job, vet)
    return held is not None and (held.signed or held.stage == Stage.UNDER_WAY)


def _route(problem: Problem, route: Route) -> Iterator[str]:
    vet = next(each for each in problem.vets if each.id == route.vet)
    if not route.stops:
        if route.home_at is not None:
            yield f"{vet.id} has nothing to do and yet comes home."
        return
    place, free = vet.place, vet.available_from + vet.present_job_min + vet.turnout_min
    car = Counter[tuple[str, int]]((item.code, item.ready_at) for item in vet.kit)
    for index, stop in enumerate(route.stops):
        job = next(each for each in problem.jobs if each.id == stop.job)
        yield from _may_go(problem, vet, job)
        yield from _times(problem, vet, job, stop, place, free, first=index == 0)
        yield from _kit(problem, vet, job, stop, car, place)
        place, free = job.place, stop.finish
    home = free + problem.drive(place, vet.home)
    if route.home_at != home:
        yield f"{vet.id} would be home at {home}, not {route.home_at}."
    settled = all(_settled(problem, stop.job, vet.id) for stop in route.stops)
    if vet.home_by is not None and home > vet.home_by and not settled:
        yield f"{vet.id} would be home {home - vet.home_by} min past the limit."


def _may_go(problem: Problem, vet: Vet, job: Job) -> Iterator[str]:
    if _settled(problem, job.id, vet.id):
        return
    if vet.stood_down:
        yield f"{vet.id} is stood down and yet sent to {job.id}."
    if vet.id in job.excluded_vets:
        yield f"{vet.id} is kept away from {job.id} and yet sent."
    if vet.unavailable_for & job.flags:
        yield f"{vet.id} is not available for {job.id} and yet sent."
    if job.fixed_vet is not None and job.fixed_vet != vet.id:
        yield f"{job.id} is promised with {job.fixed_vet} and goes to {vet.id}."
    if job.vets_needed == 1 and not _leads(problem, vet, job):
        yield f"{vet.id} cannot do {job.id} alone."


def _leads(problem: Problem, vet: Vet, job: Job) -> bool:
    """Holds one skill of every group alone, or with support that can be reached by telephone."""
    if _settled(problem, job.id, vet.id):
        return True
    able = {skill for skill, level in vet.skills.items() if level == "solo"}
    able |= {
        s for s, level in vet.skills.items() if level == "with_phone_support" and s in problem.phone_support
    }
    return all(group & able for group in job.skills)


def _times(
    problem: Problem, vet: Vet, job: Job, stop: Stop, place: str, free: int, *, first: bool
) -> Iterator[str]:
    held = _held(problem, job.id, vet.id)
    on_the_way = first and held is not None and held.stage == Stage.UNDER_WAY and held.eta_min is not None
    if on_the_way and held is not None:
        if stop.start < (held.eta_min or 0):
            yield f"{vet.id} is at {job.id} before arriving."
    else:
        earliest = max(free, stop.leave) + _way_min(problem, job, stop, place)
        if stop.leave < free or stop.arrive < earliest or stop.start < stop.arrive:
            yield f"{vet.id} is at {job.id} before the roads allow: {stop.start}, not before {earliest}."
    opens = max(job.not_before, job.window.open_min if job.window else 0)
    if stop.start < opens:
        yield f"{job.id} starts {opens - stop.start} min too early."
    if job.window and stop.start >= job.window.close_min and not _settled(problem, job.id, vet.id):
        yield f"{job.id} starts after its window closed."
    if stop.start >= problem.horizon_min:
        yield f"{job.id} starts after the time this plan looks at."
    if stop.finish != stop.start + problem.planned_min(job):
        yield f"{job.id} does not last as long as planned."


def _way_min(problem: Problem, job: Job, stop: Stop, place: str) -> int:
    """Minutes to the job by way of everything fetched, the loading with it."""
    total = 0
    for at, code in stop.fetch:
        shelf = next(each for each in problem.stores if (each.place, each.code) == (at, code))
        total += problem.drive(place, at) + shelf.fetch_min
        place = at
    return total + problem.drive(place, job.place)


def _kit(
    problem: Problem, vet: Vet, job: Job, stop: Stop, car: Counter[tuple[str, int]], place: str
) -> Iterator[str]:
    """What the job needs is in the car and ready, or fetched; what it uses up is gone afterwards."""
    clock = stop.leave
    for at, code in stop.fetch:
        shelf = next(each for each in problem.stores if (each.place, each.code) == (at, code))
        clock = max(clock + problem.drive(place, at) + shelf.fetch_min, shelf.ready_at)
        car[code, 0] += 1
        place = at
    if clock + problem.drive(place, job.place) > stop.start and stop.fetch:
        yield f"{job.id} starts before the kit could be fetched."
    settled = _settled(problem, job.id, vet.id)
    for code in sorted(job.kit):
        pieces = sorted(ready for (own, ready), count in car.items() if own == code and count)
        if not stop.brings_kit or settled:
            pass
        elif not pieces:
            yield f"{vet.id} has no {code} for {job.id}."
        elif pieces[0] > stop.start:
            yield f"{code} of {vet.id} is not ready for {job.id} before {pieces[0]}."
        if code in job.kit_used and stop.brings_kit and pieces:
            car[code, pieces[0]] -= 1


def _company(problem: Problem, plan: Plan) -> Iterator[str]:
    """Two vets start together; one leads, one brings the kit."""
    for job in problem.jobs:
        going = plan.stops_of(job.id)
        if job.vets_needed != 2 or len(going) != 2:
            continue
        if len({stop.start for _, stop in going}) != 1:
            yield f"The two vets of {job.id} do not start together."
        vets = [next(each for each in problem.vets if each.id == name) for name, _ in going]
        if not any(_leads(problem, vet, job) for vet in vets):
            yield f"Neither vet of {job.id} can lead it."
        if job.kit and not any(stop.brings_kit for _, stop in going):
            yield f"Neither vet of {job.id} brings the kit."


def _promises(problem: Problem, plan: Plan) -> Iterator[str]:
    """Accepted work stays with its vet and in its order; work under way comes first."""
    for job in problem.jobs:
        holders = {c.vet for c in problem.commitments if c.job == job.id and c.stage != Stage.OFFERED}
        going = {vet for vet, _ in plan.stops_of(job.id)}
        if going and holders - going:
            yield f"{job.id} was accepted by {', '.join(sorted(holders - going))} and goes to others."
        if any(_settled(problem, job.id, vet) for vet in holders) and not going:
            yield f"{job.id} is under way and yet left out."
    for route in plan.routes:
        held = [(index, _held(problem, stop.job, route.vet)) for index, stop in enumerate(route.stops)]
        under_way = [index for index, item in held if item and item.stage == Stage.UNDER_WAY]
        if under_way not in ([], [0]):
            yield f"{route.vet} is under way to a job that does not come first."
        orders = [item.order for _, item in held if item and item.stage == Stage.ACCEPTED]
        if orders != sorted(orders):
            yield f"{route.vet}'s accepted work changed its order."


def _stores(problem: Problem, plan: Plan) -> Iterator[str]:
    """Nobody takes a piece from a shelf that is empty."""
    taken = Counter(piece for route in plan.routes for stop in route.stops for piece in stop.fetch)
    for (place, code), count in taken.items():
        there = sum(each.count for each in problem.stores if (each.place, each.code) == (place, code))
        if count > there:
            yield f"{count} {code} are taken from {place}, which has {there}."
