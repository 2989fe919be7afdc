"""What a night costs, as expressions over the choices of the one model; together they are its objective."""

from collections.abc import Iterator

from ortools.sat.python import cp_model

from dispatch.planner.costs import (
    awake_curve,
    calling_out_points,
    cleaning_points,
    pairing_points,
    start_points,
)
from dispatch.planner.problem import Job, Stage, Vet
from dispatch.planner.rivals.one_shot_choices import Arc, Choices, Expression
from dispatch.planner.rivals.one_shot_rules import later_than
from dispatch.planner.rules import is_binding


def waiting_and_lateness(found: Choices) -> Iterator[Expression]:
    """Each job by its first start. A job that is left is priced by its way instead."""
    for job in found.problem.jobs:
        yield from _started(found, job)


def _started(found: Choices, job: Job) -> Iterator[Expression]:
    figures = found.problem.weights.lateness[job.urgency]
    start = found.first[job.id]
    yield figures.waiting_per_min * _over(found, start, job.waiting_since)
    if job.arrive_by is None:
        return
    yield figures.late_per_min * _over(found, start, job.arrive_by)
    if job.worse_at is not None:
        dear = _over(found, start, max(job.arrive_by, job.worse_at))
        yield _hundredths(found, figures.late_per_min * (figures.worse_rate_percent - 100), dear)
        worse = found.model.new_bool_var(f"{job.id} worse")
        found.model.add(start <= job.worse_at).only_enforce_if(~worse)
        yield figures.worse_step * worse


def _over(found: Choices, start: cp_model.IntVar, minute: int) -> Expression:
    """Minutes of the start past a minute."""
    if minute <= 0:
        return start - minute
    if minute >= found.problem.horizon_min:
        return 0
    over = found.model.new_int_var(0, found.problem.horizon_min - minute, "")
    found.model.add(over >= start - minute)
    return over


def _hundredths(found: Choices, rate: int, minutes: Expression) -> Expression:
    """Minutes at a rate of hundredths of points, rounded down to whole points."""
    if rate % 100 == 0:
        return rate // 100 * minutes
    points = found.model.new_int_var(0, rate * found.problem.horizon_min // 100, "")
    found.model.add(100 * points >= rate * minutes - 99)
    return points


def leaving(found: Choices) -> Iterator[Expression]:
    """The day team, a neighbour, or nobody; less what the job is charged for a start it does not have."""
    for job in found.problem.jobs:
        soonest = min(job.earliest_start, found.problem.horizon_min - 1)
        charged = int(start_points(found.problem, job, soonest))
        yield from ((way.total - charged) * taken for way, taken in found.left[job.id])
        if job.id in found.short:
            yield found.problem.weights.lateness[job.urgency].missed * found.short[job.id]


def sending(found: Choices) -> Iterator[Expression]:
    """Who is sent to what, and who is called out at all."""
    for vet in found.problem.vets:
        yield sum(calling_out_points(found.problem, vet).values()) * found.used[vet.id]
        for job in found.jobs[vet.id]:
            points = sum(pairing_points(found.problem, vet, job).values())
            yield points * found.goes[vet.id, job.id]


def offers_taken_back(found: Choices) -> Iterator[Expression]:
    """Open offers that go to someone else."""
    for item in found.problem.commitments:
        if item.stage == Stage.OFFERED:
            yield found.problem.weights.moved_offer * (1 - found.goes.get((item.vet, item.job), 0))


def driving_and_cleaning(found: Choices) -> Iterator[Expression]:
    """Minutes at the wheel, and going straight from a dirty farm to a cleaner one."""
    for arc in found.arcs:
        points = found.problem.weights.driving_per_min * arc.leg.drive_min
        if arc.origin is not None and arc.target is not None:
            points += cleaning_points(found.problem, arc.origin, arc.target)
        yield points * arc.taken


def past_the_shift(found: Choices) -> Iterator[Expression]:
    """Minutes between the end of the shift and being home."""
    for vet in found.problem.vets:
        if vet.shift_end is not None and found.jobs[vet.id]:
            longest = max(0, found.longest_home(vet) - vet.shift_end)
            over = found.model.new_int_var(0, longest, f"{vet.id} past the shift")
            late = over >= found.home[vet.id] - vet.shift_end
            found.model.add(late).only_enforce_if(found.used[vet.id])
            yield found.problem.weights.past_shift_end_per_min * over


def being_awake(found: Choices) -> Iterator[Expression]:
    """The curve of being awake from setting out to being home."""
    for vet in found.problem.vets:
        if vet.awake_cost and found.jobs[vet.id]:
            leave = found.model.new_int_var(0, found.longest_home(vet), f"{vet.id} leaves")
            found.model.add(leave == 0).only_enforce_if(~found.used[vet.id])
            for arc in found.arcs:
                if arc.vet is vet and arc.origin is None and arc.target is not None:
                    found.model.add(leave == _leaves(found, arc, arc.target)).only_enforce_if(arc.taken)
            yield _awake_until(found, vet, found.home[vet.id]) - _awake_until(found, vet, leave)


def _leaves(found: Choices, arc: Arc, target: Job) -> Expression:
    held = found.problem.commitment_of.get((target.id, arc.vet.id))
    if held is not None and held.eta_min is not None:
        return 0
    return found.start[arc.vet.id, target.id] - arc.leg.total_min


def _awake_until(found: Choices, vet: Vet, minute: cp_model.IntVar) -> cp_model.IntVar:
    curve = awake_curve(vet, found.longest_home(vet) + 1)
    points = found.model.new_int_var(min(curve), max(curve), "")
    found.model.add_element(minute, curve, points)
    return points


def accepted_work_pushed_back(found: Choices) -> Iterator[Expression]:
    """Accepted work that waits behind work that was not accepted before it."""
    for vet in found.problem.vets:
        for job in found.jobs[vet.id]:
            held = found.problem.commitment_of.get((job.id, vet.id))
            if held is not None and held.stage == Stage.ACCEPTED:
                yield found.problem.weights.pushed_back * _pushed_back(found, vet, job)


def _pushed_back(found: Choices, vet: Vet, job: Job) -> cp_model.IntVar:
    pushed = found.model.new_bool_var(f"{vet.id} {job.id} pushed back")
    for other in found.jobs[vet.id]:
        if not is_binding(found.problem, vet.id, other.id):
            both = [found.goes[vet.id, each.id] for each in (job, other)]
            found.model.add(later_than(found, vet, job, other)).only_enforce_if([*both, ~pushed])
    return pushed


COSTS = (
    waiting_and_lateness,
    leaving,
    sending,
    offers_taken_back,
    driving_and_cleaning,
    past_the_shift,
    being_awake,
    accepted_work_pushed_back,
)
