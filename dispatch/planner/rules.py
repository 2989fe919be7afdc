"""The hard rules of sending a vet, each a small function under its plain sentence.

The first table asks about a vet and a job whatever the hour; the second gives the minutes
that a timed route must keep. The solver, the quick planner and the reasons people read all
ask these; only the checker (check.py) has its own second opinion. Grounds: common practice
of assigning farm calls [cp]; no rule here says why a person is not available.
"""

from collections.abc import Callable, Sequence
from itertools import combinations

from dispatch.planner.plan import Refusal
from dispatch.planner.problem import Commitment, Job, Level, Problem, Stage, Vet

Rule = Callable[[Problem, Vet, Job], Refusal | None]


def not_stood_down(problem: Problem, vet: Vet, job: Job) -> Refusal | None:
    """A vet who is stood down or in protected rest is sent nowhere."""
    return Refusal("stood_down", vet.stood_down) if vet.stood_down else None


def not_excluded(problem: Problem, vet: Vet, job: Job) -> Refusal | None:
    """A vet who declined, or must keep away from this farm, is not sent."""
    sentence = job.excluded_vets.get(vet.id)
    return Refusal("excluded", sentence) if sentence else None


def available_for_this_work(problem: Problem, vet: Vet, job: Job) -> Refusal | None:
    """A vet is not sent to work they are not available for; the reason is nobody's business."""
    if vet.unavailable_for & job.flags:
        return Refusal("unavailable", "Not available for this kind of work.")
    return None


def promised_vet_goes(problem: Problem, vet: Vet, job: Job) -> Refusal | None:
    """A visit promised with one vet is that vet's."""
    if job.fixed_vet in (None, vet.id):
        return None
    return Refusal("fixed_vet", f"Promised with {problem.vet_by_id[str(job.fixed_vet)].name}.")


def accepted_work_stays(problem: Problem, vet: Vet, job: Job) -> Refusal | None:
    """A job accepted by as many vets as it needs goes to nobody else."""
    holders = [item.vet for item in problem.held_on.get(job.id, ())]
    if vet.id in holders or len(holders) < job.vets_needed:
        return None
    return Refusal("held", f"Accepted by {' and '.join(problem.vet_by_id[v].name for v in holders)}.")


def stand_off_is_kept(problem: Problem, vet: Vet, job: Job) -> Refusal | None:
    """A vet who has set out to a farm under stand-off goes to no other farm after it."""
    for item in problem.held_by.get(vet.id, ()):
        held = problem.job_by_id[item.job]
        if item.stage == Stage.UNDER_WAY and held.stand_off and held.id != job.id:
            return Refusal("stand_off", _stand_off_sentence(held))
    return None


def _stand_off_sentence(job: Job) -> str:
    return f"Goes nowhere else after {job.label} until the authority clears it."


def skilled_enough(problem: Problem, vet: Vet, job: Job) -> Refusal | None:
    """A vet who goes alone holds every skill, solo or with support that can be reached."""
    return lead_refusal(problem, vet, job) if job.vets_needed == 1 else None


RULES: tuple[Rule, ...] = (
    not_stood_down,
    not_excluded,
    available_for_this_work,
    promised_vet_goes,
    accepted_work_stays,
    stand_off_is_kept,
    skilled_enough,
)


def level_for(problem: Problem, vet: Vet, group: frozenset[str]) -> Level | None:
    """The best level at which the vet can do one of these skills tonight; None if at none."""
    found = {vet.skills[skill] for skill in group if skill in vet.skills and _reachable(problem, vet, skill)}
    return next((level for level in Level if level in found), None)


def _reachable(problem: Problem, vet: Vet, skill: str) -> bool:
    return vet.skills[skill] != Level.WITH_PHONE_SUPPORT or skill in problem.phone_support


def lead_refusal(problem: Problem, vet: Vet, job: Job) -> Refusal | None:
    """Why the vet cannot lead the job: the first skill group not held well enough."""
    for group in job.skills:
        level = level_for(problem, vet, group)
        if level is None or level == Level.WITH_SECOND_PRESENT:
            return Refusal("skill", _skill_sentence(vet, group, level))
    return None


def _skill_sentence(vet: Vet, group: frozenset[str], level: Level | None) -> str:
    words = " or ".join(sorted(skill.replace("_", " ") for skill in group))
    if level == Level.WITH_SECOND_PRESENT:
        return f"Does {words} only with a second vet present."
    if any(vet.skills.get(skill) == Level.WITH_PHONE_SUPPORT for skill in group):
        return f"Does {words} only with telephone support, and nobody can be reached for it."
    return f"Not skilled for {words}."


def can_lead(problem: Problem, vet: Vet, job: Job) -> bool:
    """Whether this vet alone holds what the job asks for; signed work is not asked again."""
    return is_exempt(problem, vet.id, job.id) or lead_refusal(problem, vet, job) is None


def may_start_first(problem: Problem, vet: str, job: Job, brings_kit: bool) -> bool:
    """Whether the vet may begin a job for two before the second is there: able to lead, with the kit."""
    return (brings_kit or not job.kit) and can_lead(problem, problem.vet_by_id[vet], job)


def is_exempt(problem: Problem, vet: str, job: str) -> bool:
    """Whether a person has signed for this pair, or the vet is already under way."""
    held = problem.commitment_of.get((job, vet))
    return held is not None and held.exempt


def is_binding(problem: Problem, vet: str, job: str) -> bool:
    """Whether the job already belongs to this vet for good."""
    held = problem.commitment_of.get((job, vet))
    return held is not None and held.binding


def refusals(problem: Problem, vet: Vet, job: Job) -> tuple[Refusal, ...]:
    """Every rule, whatever the hour, that keeps the vet from the job."""
    if is_exempt(problem, vet.id, job.id):
        return ()
    return tuple(found for rule in RULES if (found := rule(problem, vet, job)))


def may_precede(problem: Problem, vet: str, earlier: str, later: str) -> bool:
    """Whether the vet may do one job before another, whatever lies between them.

    Work under way comes first, other accepted work in the order accepted, and a farm under
    stand-off last of all. Only what cannot be undone follows it: work signed for, after a farm
    that the vet is under way to or that was signed for with it.
    """
    before, after = (problem.commitment_of.get((job, vet)) for job in (earlier, later))
    if after is not None and after.stage == Stage.UNDER_WAY:
        return False
    last = problem.job_by_id[later].stand_off
    if not problem.job_by_id[earlier].stand_off:
        return last or _in_order(before, after)
    if before is None or after is None or not (before.exempt and after.exempt):
        return False
    return before.stage == Stage.UNDER_WAY or (last and _in_order(before, after))


def _in_order(earlier: Commitment | None, later: Commitment | None) -> bool:
    if earlier is None or later is None or not (earlier.binding and later.binding):
        return True
    return earlier.stage == Stage.UNDER_WAY or earlier.order <= later.order


def firmness(problem: Problem, item: Commitment) -> tuple[bool, bool, int, str]:
    """Where accepted work stands among what the same vet accepted: lowest first."""
    return item.stage != Stage.UNDER_WAY, problem.job_by_id[item.job].stand_off, item.order, item.job


def order_refusal(problem: Problem, vet: str, jobs: Sequence[str]) -> Refusal | None:
    """Why the vet may not do these jobs in this order: what belongs first, or goes after a stand-off."""
    if not any(problem.job_by_id[job].stand_off or (job, vet) in problem.commitment_of for job in jobs):
        return None
    for earlier, later in combinations(jobs, 2):
        if not may_precede(problem, vet, earlier, later):
            job = problem.job_by_id[earlier]
            if job.stand_off:
                return Refusal("stand_off", _stand_off_sentence(job))
            return Refusal("order", f"{problem.job_by_id[later].label} was accepted before and comes first.")
    return None


def latest_start(problem: Problem, vet: Vet, job: Job) -> int:
    """The job starts before its window closes and before the horizon: the last allowed minute."""
    if job.window is None or is_exempt(problem, vet.id, job.id):
        return problem.horizon_min - 1
    return min(job.window.close_min, problem.horizon_min) - 1


def window_refusal(problem: Problem, vet: Vet, job: Job, start: int) -> Refusal | None:
    """Why this start is too late: the window closed, or the plan does not look that far."""
    over = start - latest_start(problem, vet, job)
    if over <= 0:
        return None
    if job.window is None or start < job.window.close_min:
        return Refusal("horizon", "Could not start within the time this plan looks ahead.", over)
    close = problem.clock(job.window.close_min)
    return Refusal("window", f"Must start before {close}; that would be missed by {over} min.", over)


def latest_home(problem: Problem, vet: Vet) -> int | None:
    """The last minute the vet may come home; being home on the minute keeps the limit."""
    return vet.home_by


def home_refusal(problem: Problem, vet: Vet, home_at: int) -> Refusal | None:
    """Why the vet would be home too late, with the minutes and the ground of the limit."""
    limit = latest_home(problem, vet)
    if limit is None or home_at <= limit:
        return None
    over = home_at - limit
    return Refusal(
        "home_by",
        f"Home by {problem.clock(limit)} would be passed by {over} min ({vet.home_by_reason}).",
        over,
    )
