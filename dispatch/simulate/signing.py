"""When a named person signs: nobody rested can be there before the outcome worsens, and somebody else can.

Common practice for passing a rest limit: life or suffering at stake, nobody rested here or next
door in time, the vet not 18 h awake, a name and a reason, and the rest owed [S38, S39; cp]. All
ways of deciding have this same way out; nobody is past a limit without it.
"""

from collections.abc import Iterable
from dataclasses import replace

from dispatch.planner.leftover import exceptions
from dispatch.planner.problem import Job, Problem
from dispatch.planner.verdicts import verdict
from dispatch.simulate.desk import Asking, Desk, Party
from dispatch.simulate.nearest import CANNOT_WAIT, nearest_pair, nearest_vet
from dispatch.simulate.question import bare_question

LONGEST_AWAKE_MIN = 18 * 60
LEAST_GAIN_MIN = 30
LATE_ENOUGH_MIN = 60
"""A limit is not passed to be there a little sooner; without a worse-after, an hour late is worse [cp]."""


def signed_party(desk: Desk, name: str, lawful_start: int | None, free: Iterable[str]) -> Party | None:
    """Whom a named person would sign for, the smallest passing first; None where it is not worth it.

    `lawful_start` is when the call would be begun within the limits, in minutes from now; None for never.
    """
    bare = bare_question(desk, Asking())
    job = bare.job_by_id[name]
    if job.urgency not in CANNOT_WAIT or not _too_late(job, lawful_start):
        return None
    fit = {each.vet.id for each in desk.vets if each.awake_min < LONGEST_AWAKE_MIN} & set(free)
    return _party(bare, job, _by_passing(bare, job, fit), lawful_start)


def _too_late(job: Job, lawful_start: int | None) -> bool:
    if lawful_start is None:
        return True
    worse = job.worse_at if job.worse_at is not None else (job.arrive_by or 0) + LATE_ENOUGH_MIN
    return lawful_start > max(worse, 0)


def _by_passing(problem: Problem, job: Job, vets: Iterable[str]) -> list[str]:
    """Vets whom only a rest limit keeps, or the room before one, by how far they would pass it."""
    judged = [
        verdict(problem, problem.vet_by_id[vet], job) for vet in sorted(vets) if vet in problem.vet_by_id
    ]
    within = [each.vet for each in judged if each.can_go]
    return [*within, *(each.vet for each in exceptions(problem, judged))]


def _party(problem: Problem, job: Job, vets: list[str], lawful_start: int | None) -> Party | None:
    freed = replace(
        problem,
        vets=tuple(replace(vet, home_by=None) if vet.id in vets else vet for vet in problem.vets),
    )
    for count in range(job.vets_needed, len(vets) + 1):
        asked = [freed.vet_by_id[vet] for vet in vets[:count]]
        party = nearest_pair(freed, job, asked) if job.vets_needed == 2 else nearest_vet(freed, job, asked)
        if party and (lawful_start is None or party[0][1].start + LEAST_GAIN_MIN <= lawful_start):
            return party
    return None
