"""The rules of a night as constraints, each under its plain sentence; kit has its own file."""

from itertools import combinations

from dispatch.planner.problem import Job, Vet
from dispatch.planner.rivals.one_shot_choices import Arc, Choices, Condition, Expression
from dispatch.planner.rules import can_lead, is_exempt, latest_home, may_precede


def every_job_is_served_or_left(found: Choices) -> None:
    """Every job gets as many vets as it needs, is left as a whole, or is one short where that may be."""
    for job in found.problem.jobs:
        going = sum(found.goes[vet.id, job.id] for vet in found.vets_of(job))
        short = found.short.get(job.id, 0)
        found.model.add(going + job.vets_needed * found.gone[job.id] + short == job.vets_needed)


def accepted_work_keeps_its_vet(found: Choices) -> None:
    """Whoever accepted a job goes to it, unless it is left altogether."""
    for item in found.problem.commitments:
        if item.binding:
            goes = found.goes.get((item.vet, item.job), 0)
            found.model.add(goes + found.gone[item.job] == 1)


def a_neighbour_takes_what_it_can(found: Choices) -> None:
    """A neighbouring practice is not given more calls than it can take."""
    for each in found.problem.neighbours:
        given = [taken for ways in found.left.values() for way, taken in ways if way.neighbour == each.id]
        found.model.add(sum(given) <= each.most_calls)


def a_drive_takes_its_time(found: Choices) -> None:
    """No job starts before its vet is free and there, by way of the shelves if need be."""
    for arc in found.arcs:
        if arc.target is None:
            continue
        start = found.start[arc.vet.id, arc.target.id]
        found.model.add(start >= arrival(found, arc)).only_enforce_if(arc.taken)
        if arc.leg.floor > arc.target.earliest_start:
            found.model.add(start >= arc.leg.floor).only_enforce_if(arc.taken)


def arrival(found: Choices, arc: Arc) -> Expression:
    """When the vet is there if nothing else holds them up."""
    if arc.origin is None:
        return arc.vet.free_from + arc.leg.total_min
    start = found.start[arc.vet.id, arc.origin.id]
    return start + found.problem.planned_min(arc.origin) + arc.leg.total_min


def vets_are_home_in_time(found: Choices) -> None:
    """A vet is home by the limit, unless all the work is signed for or under way."""
    for vet in found.problem.vets:
        home, limit = found.home[vet.id], latest_home(found.problem, vet)
        for job in found.jobs[vet.id]:
            goes = found.goes[vet.id, job.id]
            if limit is not None and not is_exempt(found.problem, vet.id, job.id):
                found.model.add(home <= limit).only_enforce_if(goes)
                done = found.start[vet.id, job.id] + found.problem.planned_min(job)
                found.model.add(done <= limit).only_enforce_if(goes)
        found.model.add(home == 0).only_enforce_if(~found.used[vet.id])
    for arc in found.arcs:
        if arc.target is None and arc.origin is not None:
            home = found.home[arc.vet.id]
            found.model.add(home == arrival(found, arc)).only_enforce_if(arc.taken)


def work_comes_in_its_order(found: Choices) -> None:
    """Work under way comes first, accepted work in its order, a farm under stand-off last."""
    for vet in found.problem.vets:
        for one, other in combinations(found.jobs[vet.id], 2):
            _ordered(found, vet, one, other)


def _ordered(found: Choices, vet: Vet, one: Job, other: Job) -> None:
    both = [found.goes[vet.id, one.id], found.goes[vet.id, other.id]]
    free = [
        may_precede(found.problem, vet.id, one.id, other.id),
        may_precede(found.problem, vet.id, other.id, one.id),
    ]
    if not any(free):
        found.model.add(sum(both) <= 1)
    elif not all(free):
        first, last = (one, other) if free[0] else (other, one)
        found.model.add(later_than(found, vet, first, last)).only_enforce_if(both)


def later_than(found: Choices, vet: Vet, first: Job, last: Job) -> Condition:
    """One job of a vet starts after another is done."""
    done = found.start[vet.id, first.id] + found.problem.planned_min(first)
    return found.start[vet.id, last.id] >= done


def one_of_two_leads_and_one_brings_the_kit(found: Choices) -> None:
    """Of two vets who start together one holds what the job asks for, and one brings the kit."""
    for job in found.problem.jobs:
        if job.vets_needed == 2 and job.second_within_min == 0:
            excused = found.gone[job.id] + found.short.get(job.id, 0)
            vets = found.vets_of(job)
            leads = sum(found.goes[vet.id, job.id] for vet in vets if can_lead(found.problem, vet, job))
            found.model.add(leads + excused >= 1)
            if job.kit:
                found.model.add(sum(found.brings(vet, job) for vet in vets) + excused >= 1)


def the_second_follows_in_time(found: Choices) -> None:
    """Where the second may follow, who starts first leads and has the kit; the other is there in time."""
    for job in found.problem.jobs:
        if job.second_within_min:
            _followed(found, job)


def _followed(found: Choices, job: Job) -> None:
    model, first = found.model, found.first[job.id]
    firsts = []
    for vet in found.vets_of(job):
        goes, start = found.goes[vet.id, job.id], found.start[vet.id, job.id]
        leads = model.new_bool_var(f"{vet.id} first at {job.id}")
        found.leads[vet.id, job.id] = leads
        firsts.append(leads)
        model.add_implication(leads, goes)
        model.add(start == first).only_enforce_if(leads)
        model.add(start >= first).only_enforce_if(goes)
        model.add(start <= first + job.second_within_min).only_enforce_if(goes)
        fit = found.brings(vet, job) if can_lead(found.problem, vet, job) else 0
        model.add(leads <= fit + found.short.get(job.id, 0))
    model.add(sum(firsts) + found.gone[job.id] == 1)


RULES = (
    every_job_is_served_or_left,
    accepted_work_keeps_its_vet,
    a_neighbour_takes_what_it_can,
    a_drive_takes_its_time,
    vets_are_home_in_time,
    work_comes_in_its_order,
    one_of_two_leads_and_one_brings_the_kit,
    the_second_follows_in_time,
)
