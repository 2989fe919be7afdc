"""The rechecks that a procedure owes: started by its template, moved with what they count from."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction
from psycopg.types.range import TimestamptzRange

from cases.access import visit_for_update
from cases.followups import Anchor, Step, Who, plan_followups, table_now, template_for
from cases.models import BookedState, Location, Recheck, RecheckState, Visit, VisitState
from cases.services.recheck_animals import name_animal
from cases.services.recheck_booking import book, window_of
from cases.services.recheck_callers import settle_caller
from cases.services.recheck_ends import animal_ended, cancel_rechecks, end_recheck, record_result
from cases.services.reminders import plan_recheck_reminder
from cases.triage.catalogue import catalogue
from rotas.access import require_role
from rotas.errors import BadInput, FromTheFuture
from rotas.models import Member, Role
from rotas.services.telling import tell

__all__ = [
    "anchor_happened",
    "anchors_of",
    "animal_ended",
    "cancel_rechecks",
    "end_recheck",
    "last_dose_given",
    "record_result",
    "start_rechecks",
    "template_of",
]

CLOCKS_MAY_DIFFER = timedelta(minutes=2)


@transaction.atomic
def start_rechecks(*, visit: Visit, actor: Member | None, now: datetime) -> list[Recheck]:
    """Start what the complaint's follow-up template owes after a finished visit; safe to repeat.

    Repeated after a corrected end of the visit, it moves what is still to come, by the version of the
    table that it came from. Rechecks belong to the case: of two vets on one call only the first to
    finish starts them.
    """
    if visit.location is None or _started_by_another(visit):
        return []
    code = template_of(visit)
    known = {row.step: row for row in visit.rechecks.select_for_update().filter(template=code)}
    version = next((row.table_version for row in known.values()), table_now().version)
    steps = plan_followups(template_for(code, version), anchors_of(visit), visit.practice.tz)
    owed = [step for step in steps if step.who is not Who.SYSTEM]
    new = [_start(visit, step, version, actor, now) for step in owed if step.number not in known]
    for step in owed:
        if step.number in known:
            _move(known[step.number], step, visit, actor, now)
    if new:
        name_animal(visit)
        _tell_started(visit, owed[0].procedure, len(new), actor, now)
    return new


def template_of(visit: Visit) -> str:
    """Return the follow-up template of the complaint that the visit was for."""
    if visit.call is not None:
        return str(visit.call.assessment["followup_template"])
    assert visit.booked is not None
    return catalogue()[visit.booked.complaint].followup_template


def _started_by_another(visit: Visit) -> bool:
    if visit.call_id is None:
        return False
    return Recheck.objects.filter(visit__call=visit.call_id).exclude(visit=visit).exists()


def anchors_of(visit: Visit) -> dict[str, datetime]:
    """Return the events of this visit that follow-ups count from, as far as they have happened."""
    anchors: dict[str, datetime] = {}
    if visit.finished_at:
        ends = (Anchor.VISIT_END, Anchor.SURGERY_END, Anchor.INJECTION)
        anchors |= {anchor.value: visit.finished_at for anchor in ends}
    standing = visit.treatments.filter(corrected_by__isnull=True, not_given__isnull=True)
    doses = standing.values_list("last_given_at", flat=True)
    if doses:
        anchors[Anchor.LAST_DOSE.value] = max(doses)
    return anchors


def _start(visit: Visit, step: Step, version: str, actor: Member | None, now: datetime) -> Recheck:
    recheck = Recheck.objects.create(
        practice=visit.practice,
        visit=visit,
        location=_farm(visit),
        table_version=version,
        template=step.template,
        step=step.number,
        who=step.who.value,
        action=step.action,
        importance=step.importance.value,
        escalate_if=step.escalate_if,
        anchor=step.anchor.value,
        due_at=step.due_at,
        state=RecheckState.WAITING_FOR_ANCHOR if step.is_waiting else RecheckState.DUE,
    )
    _arrange(recheck, step, actor, now)
    return recheck


def _farm(visit: Visit) -> Location:
    location = visit.location
    assert location is not None
    return location


def _arrange(recheck: Recheck, step: Step, actor: Member | None, now: datetime) -> None:
    """Book the vet's visit and plan the reminder of a recheck that has a time."""
    if recheck.due_at is None:
        return
    if step.who is Who.VET_VISIT:
        recheck.booked = book(recheck, actor, now)
        recheck.save(update_fields=["booked"])
    settle_caller(recheck, now)
    plan_recheck_reminder(recheck, now)


def _move(recheck: Recheck, step: Step, visit: Visit, actor: Member | None, now: datetime) -> None:
    """Bring an open recheck to a new time, its booking and reminder too; what was told stays told."""
    if not recheck.is_open or step.due_at in (None, recheck.due_at):
        return
    first_time = recheck.due_at is None
    recheck.due_at, recheck.state, recheck.warned_at = step.due_at, RecheckState.DUE, None
    recheck.save(update_fields=["due_at", "state", "warned_at"])
    if first_time:
        _arrange(recheck, step, actor, now)
        return
    booked = recheck.booked
    if booked and booked.state == BookedState.BOOKED and not booked.visits.active().exists():
        booked.window = TimestamptzRange(*window_of(recheck, now))
        booked.save(update_fields=["window"])
    settle_caller(recheck, now)
    plan_recheck_reminder(recheck, now)


def _tell_started(visit: Visit, procedure: str, count: int, actor: Member | None, now: datetime) -> None:
    rechecks = "rechecks" if count > 1 else "recheck"
    tell(
        practice=visit.practice,
        now=now,
        verb="rechecks_started",
        subject=visit,
        topic="aftercare",
        actor=actor,
        sentence=f"{procedure}: {count} {rechecks} planned at {visit.location}",
        after={"template": template_of(visit), "count": count},
    )


@transaction.atomic
def anchor_happened(
    *, visit_id: Any, anchor: str, happened_at: datetime, actor: Member, now: datetime
) -> list[Recheck]:
    """Write that what a recheck waits for has happened (a birth, a sample sent); return those now due."""
    require_role(actor, Role.RECEPTION, Role.VET)
    if anchor not in [known.value for known in Anchor]:
        raise BadInput(field="anchor", problem=f"say one of {', '.join(known.value for known in Anchor)}.")
    if happened_at > now + CLOCKS_MAY_DIFFER:
        raise FromTheFuture(field="happened_at")
    visit = visit_for_update(actor.practice, visit_id)
    return list(_due_from(visit, anchor, happened_at, actor, now))


def _due_from(
    visit: Visit, anchor: str, happened_at: datetime, actor: Member | None, now: datetime
) -> Iterator[Recheck]:
    waiting = visit.rechecks.select_for_update().filter(state=RecheckState.WAITING_FOR_ANCHOR, anchor=anchor)
    for recheck in waiting.order_by("step"):
        template = template_for(recheck.template, recheck.table_version)
        steps = plan_followups(template, {anchor: happened_at}, visit.practice.tz)
        _move(recheck, steps[recheck.step - 1], visit, actor, now)
        tell(
            practice=visit.practice,
            now=now,
            verb="recheck_due",
            subject=recheck,
            topic="aftercare",
            actor=actor,
            sentence=f"{recheck.location.name}: {recheck.action}",
            after={"due_at": recheck.due_at},
        )
        yield recheck


def last_dose_given(visit: Visit, at: datetime, actor: Member, now: datetime) -> None:
    """Give a date to the rechecks that count from the last dose, when it is written after the visit.

    What was given also says which animal the rechecks are about.
    """
    name_animal(visit)
    if visit.state == VisitState.FINISHED:
        list(_due_from(visit, Anchor.LAST_DOSE.value, at, actor, now))
