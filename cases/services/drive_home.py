"""Whether a vet is fit to drive home. Asked at night when the job is done; the answer is never questioned."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db import models, transaction

from cases.access import visit_for_update
from cases.models import Visit, VisitState
from cases.services.visits import require_own
from rotas.errors import AlreadyDone, BadInput, FromTheFuture
from rotas.models import AuditLine, Member, Practice, SelfReport
from rotas.services.telling import tell
from rotas.services.vets import report_self

CLOCKS_MAY_DIFFER = timedelta(minutes=2)


class DriveAnswer(models.TextChoices):
    """What a vet says. A nap in the car at the farm is allowed; the car is fetched on the next day [cp]."""

    FIT = "fit", "fit to drive"
    REST = "rest", "rests first"
    LIFT = "lift", "asks for a lift"


VERBS = {f"drive_{answer}": answer for answer in DriveAnswer}


@dataclass(frozen=True)
class DriveWord:
    """The last answer of a vet about the drive home from one visit."""

    answer: DriveAnswer
    at: datetime


@transaction.atomic
def say_if_fit(
    *, visit_id: Any, actor: Member, now: datetime, answer: str, happened_at: datetime | None = None
) -> Visit:
    """Write the answer; the same one again changes nothing.

    Asking for a lift stands the vet down like any "not safe", and the desk shows it until they are home.
    """
    visit = visit_for_update(actor.practice, visit_id)
    require_own(visit, actor)
    said = _checked(visit, answer)
    if happened_at is not None and happened_at > now + CLOCKS_MAY_DIFFER:
        raise FromTheFuture(field="happened_at")
    before = words_of(visit.practice, [visit.pk]).get(visit.pk)
    if before is not None and before.answer == said:
        return visit
    _tell(visit, said, actor, now, min(happened_at or now, now))
    if said == DriveAnswer.LIFT:
        report_self(vet=visit.vet, state=SelfReport.NOT_SAFE, actor=actor, now=now)
    return visit


def _checked(visit: Visit, answer: str) -> DriveAnswer:
    if answer not in DriveAnswer.values:
        raise BadInput(field="answer", problem=f"say one of {', '.join(DriveAnswer.values)}.")
    if visit.home_at is not None:
        raise AlreadyDone(state="home")
    if visit.state not in (VisitState.FINISHED, VisitState.STOOD_DOWN):
        raise BadInput(field="answer", problem="this is asked when the job is done. Report that first.")
    return DriveAnswer(answer)


def _tell(visit: Visit, said: DriveAnswer, actor: Member, now: datetime, at: datetime) -> None:
    where = visit.location.name if visit.location else "a farm not yet known"
    sentence = f"{visit.vet} at {where}, about the drive home: {said.label}"
    if now - at > CLOCKS_MAY_DIFFER:
        sentence += f", said at {visit.practice.local(at):%H:%M}"
    tell(
        practice=visit.practice,
        now=now,
        verb=f"drive_{said}",
        subject=visit,
        sentence=sentence,
        topic="visit",
        actor=actor,
        after={"answer": said, "happened_at": at},
    )


def words_of(practice: Practice, visit_ids: Iterable[int]) -> dict[int, DriveWord]:
    """Return the last answer for each of the visits that has one, in one query."""
    subjects = {f"visit:{pk}": pk for pk in visit_ids}
    if not subjects:
        return {}
    lines = AuditLine.objects.for_practice(practice).filter(subject__in=subjects, verb__in=VERBS)
    return {
        subjects[line.subject]: DriveWord(VERBS[line.verb], line.at) for line in lines.order_by("at", "pk")
    }
