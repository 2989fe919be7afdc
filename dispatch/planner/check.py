"""A second opinion on any plan: every rule asked again and every price summed again, without a solver.

Shares nothing with the code that makes plans but the shapes of question and answer. Guards
every plan before it is saved.
"""

from collections import Counter
from collections.abc import Iterator
from itertools import pairwise
from math import inf

from dispatch.planner.check_costs import summed_costs
from dispatch.planner.plan import Outcome, Plan, Route, Stop, Unassigned
from dispatch.planner.problem import Commitment, Job, Kind, Level, Problem, Stage, Vet


def broken_rules(problem: Problem, plan: Plan) -> tuple[str, ...]:
    """Every rule the plan breaks, as sentences; none means that the plan may be kept."""
    unknown = tuple(_unknown_names(problem, plan))
    if unknown:
        return unknown
    found = [
        *_jobs_covered(problem, plan),
        *_commitments_kept(problem, plan),
        *_together(problem, plan),
        *_shelves(problem, plan),
        *_neighbours(problem, plan),
    ]
    for route in plan.routes:
        found += [
            *_times(problem, route),
            *_limits(problem, route),
            *_stand_offs(problem, route),
            *_people(problem, route),
            *_kit(problem, route),
        ]
    return (*found, *_costs(problem, plan))


def _unknown_names(problem: Problem, plan: Plan) -> Iterator[str]:
    vets, jobs = {vet.id for vet in problem.vets}, {job.id for job in problem.jobs}
    seen: set[str] = set()
    for route in plan.routes:
        if route.vet not in vets:
            yield f"There is no vet {route.vet}."
        if route.vet in seen:
            yield f"Vet {route.vet} has two routes."
        seen.add(route.vet)
        yield from (f"There is no job {stop.job}." for stop in route.stops if stop.job not in jobs)
    yield from (f"There is no job {left.job}." for left in plan.unassigned if left.job not in jobs)


def _jobs_covered(problem: Problem, plan: Plan) -> Iterator[str]:
    going = Counter(stop.job for route in plan.routes for stop in route.stops)
    left = Counter(item.job for item in plan.unassigned)
    for job in problem.jobs:
        if left[job.id] > 1:
            yield f"Job {job.id} is left twice."
        if going[job.id] > job.vets_needed:
            yield f"Job {job.id} gets {going[job.id]} vets and needs {job.vets_needed}."
        if going[job.id] == job.vets_needed and left[job.id]:
            yield f"Job {job.id} is both served and left."
        if going[job.id] < job.vets_needed and not left[job.id]:
            yield f"Job {job.id} is neither served by {job.vets_needed} nor left."
    for route in plan.routes:
        names = [stop.job for stop in route.stops]
        if len(set(names)) != len(names):
            yield f"Vet {route.vet} goes to the same job twice."


def _holds(problem: Problem, vet: str, job: str) -> Commitment | None:
    return next((item for item in problem.commitments if item.vet == vet and item.job == job), None)


def _excused(problem: Problem, vet: str, job: str) -> bool:
    held = _holds(problem, vet, job)
    return held is not None and (held.signed or held.stage == Stage.UNDER_WAY)


def _commitments_kept(problem: Problem, plan: Plan) -> Iterator[str]:
    orders = {route.vet: [stop.job for stop in route.stops] for route in plan.routes}
    left_whole = {item.job for item in plan.unassigned} - {job for order in orders.values() for job in order}
    for item in problem.commitments:
        order = orders.get(item.vet, [])
        if item.stage == Stage.OFFERED:
            continue
        if item.job not in order and item.job not in left_whole:
            yield f"Job {item.job} was accepted by {item.vet} and goes to someone else."
        if item.job in left_whole and (item.signed or item.stage == Stage.UNDER_WAY):
            yield f"Job {item.job} is under way or signed for and may not be left."
        if item.stage == Stage.UNDER_WAY and order[:1] != [item.job]:
            yield f"Vet {item.vet} is under way to {item.job}, which is not first."
    for vet, order in orders.items():
        kept = [
            held
            for job in order
            if (held := _holds(problem, vet, job))
            and held.stage == Stage.ACCEPTED
            and not problem.job_by_id[job].stand_off
        ]
        if any(later.order < earlier.order for earlier, later in pairwise(kept)):
            yield f"Vet {vet} does accepted work out of its order."


def _stand_offs(problem: Problem, route: Route) -> Iterator[str]:
    """Nothing after a suspect farm but signed work that could not have come before it."""
    names = [stop.job for stop in route.stops]
    for index, name in enumerate(names):
        if not problem.job_by_id[name].stand_off:
            continue
        for after in names[index + 1 :]:
            if not _may_follow_suspect(problem, route.vet, name, after):
                yield f"Vet {route.vet} goes to job {after} after the stand-off at job {name}."


def _may_follow_suspect(problem: Problem, vet: str, suspect: str, after: str) -> bool:
    first, then = _holds(problem, vet, suspect), _holds(problem, vet, after)
    if first is None or then is None or not then.signed:
        return False
    both_suspect = problem.job_by_id[after].stand_off
    return first.stage == Stage.UNDER_WAY or (both_suspect and first.signed and first.order <= then.order)


def _together(problem: Problem, plan: Plan) -> Iterator[str]:
    for job in problem.jobs:
        stops = plan.stops_of(job.id)
        if job.vets_needed == 1 or not stops:
            continue
        apart = max(stop.start for _, stop in stops) - min(stop.start for _, stop in stops)
        if apart > job.second_within_min:
            yield f"The vets at job {job.id} do not start together but {apart} min apart."
        if len(stops) > 1:
            yield from _led(problem, job, stops)
            continue
        held = _holds(problem, stops[0][0], job.id)
        if held is None or held.stage == Stage.OFFERED:
            yield f"Job {job.id} needs two vets and gets one."


def _led(problem: Problem, job: Job, stops: tuple[tuple[str, Stop], ...]) -> Iterator[str]:
    """Somebody leads, somebody has the kit; where the second may follow, who comes first does both."""
    able = {
        vet
        for vet, _ in stops
        if _excused(problem, vet, job.id) or _masters(problem, problem.vet_by_id[vet], job)
    }
    equipped = {vet for vet, stop in stops if stop.brings_kit or not job.kit}
    if not able:
        yield f"No vet at job {job.id} can lead it."
    if not equipped:
        yield f"Nobody brings the kit to job {job.id}."
    first = min(stop.start for _, stop in stops)
    if job.second_within_min and not any(
        vet in able & equipped and stop.start == first for vet, stop in stops
    ):
        yield f"Nobody who can lead job {job.id} is there first with the kit."


def _masters(problem: Problem, vet: Vet, job: Job) -> bool:
    """Every skill group held solo, or with support that someone is there to give."""
    return all(
        any(
            vet.skills.get(skill) == Level.SOLO
            or (vet.skills.get(skill) == Level.WITH_PHONE_SUPPORT and skill in problem.phone_support)
            for skill in group
        )
        for group in job.skills
    )


def _shelves(problem: Problem, plan: Plan) -> Iterator[str]:
    taken = Counter(piece for route in plan.routes for stop in route.stops for piece in stop.fetch)
    stock = {(store.place, store.code): store.count for store in problem.stores}
    for piece, count in taken.items():
        if count > stock.get(piece, 0):
            yield f"{count} {piece[1]} are fetched from {piece[0]}, which has {stock.get(piece, 0)}."


def _neighbours(problem: Problem, plan: Plan) -> Iterator[str]:
    given = Counter(item.neighbour for item in plan.unassigned if item.outcome == Outcome.HAND_OVER)
    room = {item.id: item.most_calls for item in problem.neighbours}
    for neighbour, count in given.items():
        if count > room.get(str(neighbour), 0):
            yield f"Neighbour {neighbour} is given {count} calls and can take {room.get(str(neighbour), 0)}."
    for left in plan.unassigned:
        job = problem.job_by_id[left.job]
        soonest = _soonest_outside(problem, job, left)
        if soonest is not None and (left.start is None or left.start < soonest):
            yield f"Job {job.id} cannot start elsewhere at {left.start}, before {soonest}."


def _soonest_outside(problem: Problem, job: Job, left: Unassigned) -> float | None:
    """The first minute the day team or the neighbour could start; infinite if they cannot take it at all."""
    opens = max(job.not_before, job.window.open_min if job.window else 0)
    if left.outcome == Outcome.DEFERRED:
        return inf if job.day_team_at is None else max(opens, job.day_team_at)
    if left.outcome == Outcome.HAND_OVER:
        taker = next((item for item in problem.neighbours if item.id == left.neighbour), None)
        covers = taker is not None and (
            taker.skills is None or all(group & taker.skills for group in job.skills)
        )
        if taker is None or not covers or job.kind != Kind.CALL:
            return inf
        return max(opens, taker.ready_min + problem.drive(taker.place, job.place))
    return None


def _times(problem: Problem, route: Route) -> Iterator[str]:
    vet = problem.vet_by_id[route.vet]
    here, free, driven = vet.place, vet.available_from + vet.present_job_min + vet.turnout_min, 0
    for index, stop in enumerate(route.stops):
        job = problem.job_by_id[stop.job]
        held = _holds(problem, vet.id, job.id)
        if index == 0 and held is not None and held.eta_min is not None:
            arrives, drive, free = held.eta_min, held.eta_min, 0
        else:
            arrives, drive = _driven(problem, stop, here, job.place)
        at = f"Vet {vet.id} at job {job.id}"
        if stop.leave < free:
            yield f"{at} leaves at {stop.leave} but is not free before {free}."
        if stop.arrive < arrives or stop.drive_min != drive:
            yield f"{at} drives {stop.drive_min} min to {stop.arrive}; it takes {drive} to {arrives}."
        opens = max(job.not_before, job.window.open_min if job.window else 0)
        if stop.start < max(stop.arrive, opens):
            yield f"{at} starts at {stop.start}, before being there or being let in."
        if stop.finish != stop.start + problem.planned_min(job):
            yield f"{at} finishes at {stop.finish}, which is not the planned time on the job."
        here, free, driven = job.place, stop.finish, driven + drive
    if route.stops:
        home = problem.drive(here, vet.home)
        if route.home_at != free + home or route.drive_min != driven + home or route.drive_home_min != home:
            yield f"Vet {vet.id} is home at {free + home} after {driven + home} min driving, not as told."


def _driven(problem: Problem, stop: Stop, here: str, farm: str) -> tuple[int, int]:
    """(minute of arrival, minutes at the wheel) from leaving, by way of the shelves."""
    minute, drive = stop.leave, 0
    shelves = {(store.place, store.code): store for store in problem.stores}
    for piece in stop.fetch:
        way = problem.drive(here, piece[0])
        drive += way
        minute += way
        if piece in shelves:
            minute = max(minute + shelves[piece].fetch_min, shelves[piece].ready_at)
        here = piece[0]
    last = problem.drive(here, farm)
    return minute + last, drive + last


def _limits(problem: Problem, route: Route) -> Iterator[str]:
    vet = problem.vet_by_id[route.vet]
    for stop in route.stops:
        job = problem.job_by_id[stop.job]
        if stop.start >= problem.horizon_min:
            yield f"Job {job.id} starts beyond the horizon."
        if job.window and stop.start >= job.window.close_min and not _excused(problem, vet.id, job.id):
            yield f"Job {job.id} starts at {stop.start}, after its window closed at {job.window.close_min}."
    if vet.home_by is None or route.home_at is None or route.home_at <= vet.home_by:
        return
    if not all(_excused(problem, vet.id, stop.job) for stop in route.stops):
        yield f"Vet {vet.id} is home at {route.home_at}, {route.home_at - vet.home_by} min after the limit."


def _people(problem: Problem, route: Route) -> Iterator[str]:
    vet = problem.vet_by_id[route.vet]
    for stop in route.stops:
        job = problem.job_by_id[stop.job]
        if _excused(problem, vet.id, job.id):
            continue
        if vet.stood_down:
            yield f"Vet {vet.id} is stood down and sent to job {job.id}."
        if vet.id in job.excluded_vets or vet.unavailable_for & job.flags:
            yield f"Vet {vet.id} may not go to job {job.id}."
        if job.fixed_vet not in (None, vet.id):
            yield f"Job {job.id} was promised with {job.fixed_vet}, not {vet.id}."
        if job.vets_needed == 1 and not _masters(problem, vet, job):
            yield f"Vet {vet.id} lacks a skill for job {job.id}."
        holders = {
            item.vet for item in problem.commitments if item.job == job.id and item.stage != Stage.OFFERED
        }
        if len(holders) >= job.vets_needed and vet.id not in holders:
            yield f"Job {job.id} has been accepted by others than {vet.id}."


def _kit(problem: Problem, route: Route) -> Iterator[str]:
    """Follow every piece: in the car, fetched, used up."""
    vet = problem.vet_by_id[route.vet]
    pieces = [(item.code, item.ready_at) for item in vet.kit]
    for stop in route.stops:
        job = problem.job_by_id[stop.job]
        pieces += [(code, 0) for _, code in stop.fetch]
        if job.vets_needed == 2 and not stop.brings_kit:
            continue
        for code in job.kit:
            usable = [piece for piece in pieces if piece[0] == code and piece[1] <= stop.start]
            if not usable and not _excused(problem, vet.id, job.id):
                yield f"Vet {vet.id} is at job {job.id} without a usable {code}."
            if usable and code in job.kit_used:
                pieces.remove(min(usable))


def _costs(problem: Problem, plan: Plan) -> Iterator[str]:
    summed = summed_costs(problem, plan)
    said = Counter({name: points for name, points in plan.costs.items() if points})
    for name in sorted(set(summed) | set(said)):
        if summed[name] != said[name]:
            yield f"The term {name} is {summed[name]} points and the plan says {said[name]}."
    if plan.cost != sum(summed.values()):
        yield f"The plan costs {sum(summed.values())} points and says {plan.cost}."
    if plan.bound > plan.cost:
        yield f"The proven bound {plan.bound} lies above the cost {plan.cost}."
