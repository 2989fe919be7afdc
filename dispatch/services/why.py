"""Why this vet, in the few words that the vet reads: "12 min away, kit in the car, awake 4 h"."""

from collections.abc import Iterator

from dispatch.desk.words import hours_words, joined, kit_words
from dispatch.inputs.names import key_of
from dispatch.inputs.tired import minutes_awake
from dispatch.planner.problem import Job, Problem, Stage, Vet
from dispatch.planner.words import minutes_words
from dispatch.situation.load import Situation

ANY_SKILL = frozenset({"first_opinion_farm"})


def why(problem: Problem, vet_name: str, job_name: str, situation: Situation) -> str:
    """Return the words for one vet and one job of a problem; nothing where either is not in it."""
    vet, job = problem.vet_by_id.get(vet_name), problem.job_by_id.get(job_name)
    if vet is None or job is None:
        return ""
    row = situation.crew.get(key_of(vet_name))
    awake = "" if row is None or vet.asleep else f"awake {hours_words(minutes_awake(situation, row))}"
    return ", ".join((*_way(problem, vet, job), *_kit(vet, job), *_skill(vet, job), *filter(None, [awake])))


def _way(problem: Problem, vet: Vet, job: Job) -> Iterator[str]:
    """How far, from where the vet is when free."""
    if vet.available_from > 0:
        yield f"on duty from {problem.clock(vet.available_from)}"
    elif vet.present_job_min > 0:
        yield f"free in about {minutes_words(vet.present_job_min)}"
    if _has_other_work(problem, vet, job):
        yield "after the work already accepted"
    yield f"{minutes_words(problem.drive(vet.place, job.place))} away"


def _has_other_work(problem: Problem, vet: Vet, job: Job) -> bool:
    return any(
        item.vet == vet.id and item.job != job.id and item.stage != Stage.OFFERED
        for item in problem.commitments
    )


def _kit(vet: Vet, job: Job) -> Iterator[str]:
    if not job.kit:
        return
    missing = sorted(job.kit - {item.code for item in vet.kit if item.ready_at <= 0})
    yield f"{joined([kit_words(code) for code in missing])} to be fetched" if missing else "kit in the car"


def _skill(vet: Vet, job: Job) -> Iterator[str]:
    """Name what was asked for when it is more than any farm vet does."""
    special = [group for group in job.skills if not group & ANY_SKILL]
    held = sorted(kit_words(skill) for group in special for skill in group if skill in vet.skills)
    if held:
        yield f"does {joined(held)}"
