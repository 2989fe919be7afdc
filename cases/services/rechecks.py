"""The rechecks that a procedure owes: started, moved, booked, answered."""

from collections.abc import Iterator
from datetime import datetime, time, timedelta
from typing import Any

from django.db import transaction
from psycopg.types.range import TimestamptzRange

from cases.access import recheck_for_update, visit_for_update
from cases.followups import Anchor, Step, Unit, Who, plan_followups, template_for
from cases.models import (
    BookedKind,
    BookedState,
    BookedVisit,
    Location,
    Recheck,
    RecheckState,
    Visit,
    VisitState,
)
from cases.services.booking import drop_booking, scheduled_complaint, write_booking
from cases.services.reminders import drop_reminders, plan_recheck_reminder
from cases.services.telling import required, tell
from cases.triage.catalogue import catalogue
from rotas.access import require_role
from rotas.errors import AlreadyDone, BadInput, FromTheFuture
from rotas.models import Member, Practice, Role

DAY_OPENS, DAY_CLOSES = time(9), time(17)  # [cp]
BEFORE_DUE, AFTER_DUE = timedelta(hours=1), timedelta(hours=3)  # window of a visit due at an hour [cp]
RECHECK_VISIT, READING = "recheck_visit", "tb_test_reading"
CLOCKS_MAY_DIFFER = timedelta(minutes=2)

OPEN_RECHECKS = (RecheckState.DUE, RecheckState.WAITING_FOR_ANCHOR)

Window = tuple[datetime, datetime]


@transaction.atomic
def start_rechecks(*, visit: Visit, actor: Member | None, now: datetime) -> list[Recheck]:
    """Start what the complaint's follow-up template owes after a finished visit; safe to repeat.

    Repeated after a corrected end of the visit, it moves what is still to come. Rechecks belong to
    the case: of two vets on one call only the first to finish starts them.
    """
    if visit.location is None or _started_by_another(visit):
        return []
    code = template_of(visit)
    steps = plan_followups(code, anchors_of(visit), visit.practice.tz)
    owed = [step for step in steps if step.who is not Who.SYSTEM]
    known = {row.step: row for row in visit.rechecks.select_for_update().filter(template=code)}
    new = [_start(visit, step, actor, now) for step in owed if step.number not in known]
    for step in owed:
        if step.number in known:
            _move(known[step.number], step, visit, actor, now)
    if new:
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
    doses = visit.treatments.filter(corrected_by__isnull=True).values_list("last_given_at", flat=True)
    if doses:
        anchors[Anchor.LAST_DOSE.value] = max(doses)
    return anchors


def _start(visit: Visit, step: Step, actor: Member | None, now: datetime) -> Recheck:
    recheck = Recheck.objects.create(
        practice=visit.practice,
        visit=visit,
        location=_farm(visit),
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
        recheck.booked = _book(recheck, step, actor, now)
        recheck.save(update_fields=["booked"])
    plan_recheck_reminder(recheck, now)


def _book(recheck: Recheck, step: Step, actor: Member | None, now: datetime) -> BookedVisit:
    hard = step.not_before is not None
    kind, complaint = (BookedKind.TEST_READING, READING) if hard else (BookedKind.RECHECK, RECHECK_VISIT)
    vet = recheck.visit.vet if hard else None  # a test is read by who injected [S26]
    note = f"{step.procedure}: {step.action}"
    window = window_of(step, recheck.visit, now)
    return write_booking(recheck.location, kind, scheduled_complaint(complaint), window, vet, note, actor)


def window_of(step: Step, visit: Visit, now: datetime) -> Window:
    """Return when the visit of a step may start: its hard window, its hours, or its day."""
    assert step.due_at is not None
    if step.not_before is not None and step.not_after is not None:
        return _hard_window(step.not_before, step.not_after, visit)
    rule = template_for(step.template).steps[step.number - 1]
    if rule.unit is Unit.HOURS:
        start, end = step.due_at - BEFORE_DUE, step.due_at + AFTER_DUE
    else:
        start, end = _day(visit.practice, step.due_at)
    return (start, end) if end > now else (now, now + AFTER_DUE)


def _hard_window(start: datetime, end: datetime, visit: Visit) -> Window:
    """Close the window for the animal injected first, while it opens for the one injected last."""
    if visit.on_farm_at is None or visit.finished_at is None:
        return start, end
    tighter = end - (visit.finished_at - visit.on_farm_at)
    return (start, tighter) if tighter > start else (start, end)


def _day(practice: Practice, due_at: datetime) -> Window:
    day = practice.local(due_at).date()
    start, end = (datetime.combine(day, clock, tzinfo=practice.tz) for clock in (DAY_OPENS, DAY_CLOSES))
    return start, end


def _move(recheck: Recheck, step: Step, visit: Visit, actor: Member | None, now: datetime) -> None:
    """Bring an open recheck to a new time, its booking and reminder too; what was told stays told."""
    if recheck.state not in OPEN_RECHECKS or step.due_at in (None, recheck.due_at):
        return
    first_time = recheck.due_at is None
    recheck.due_at, recheck.state = step.due_at, RecheckState.DUE
    recheck.save(update_fields=["due_at", "state"])
    if first_time:
        _arrange(recheck, step, actor, now)
        return
    booked = recheck.booked
    if booked and booked.state == BookedState.BOOKED and not booked.visits.active().exists():
        booked.window = TimestamptzRange(*window_of(step, visit, now))
        booked.save(update_fields=["window"])
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
        steps = plan_followups(recheck.template, {anchor: happened_at}, visit.practice.tz)
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
    """Give a date to the rechecks that count from the last dose, when it is written after the visit."""
    if visit.state == VisitState.FINISHED:
        list(_due_from(visit, Anchor.LAST_DOSE.value, at, actor, now))


@transaction.atomic
def record_result(*, recheck_id: Any, actor: Member, now: datetime, result: str) -> Recheck:
    """Close a recheck with its result. A call that was tried is no result."""
    require_role(actor, Role.RECEPTION, Role.VET)
    recheck = recheck_for_update(actor.practice, recheck_id)
    _require_open(recheck)
    problem = "write what was found. A call that nobody answered is no result."
    recheck.result = required(result, "result", problem)
    recheck.state = RecheckState.DONE
    recheck.due_at = recheck.due_at or now
    recheck.done_at, recheck.done_by = now, actor
    recheck.save()
    _close(recheck, actor, now, "recheck done by other means")
    _tell(recheck, actor, now, "recheck_done", f"{recheck.location.name}: {recheck.action}", recheck.result)
    return recheck


@transaction.atomic
def cancel_rechecks(*, visit_id: Any, actor: Member, now: datetime, reason: str) -> list[Recheck]:
    """End every open recheck of a visit, such as when the animal has died or was sold."""
    require_role(actor, Role.RECEPTION, Role.VET)
    why = required(reason, "reason", "say why nothing has to be checked any more.")
    visit = visit_for_update(actor.practice, visit_id)
    rows = Recheck.objects.select_for_update(of=("self",)).select_related("location", "practice", "booked")
    found = list(rows.filter(visit=visit, state__in=OPEN_RECHECKS).order_by("step"))
    for recheck in found:
        recheck.state = RecheckState.CANCELLED
        recheck.save(update_fields=["state"])
        _close(recheck, actor, now, why)
        _tell(recheck, actor, now, "recheck_cancelled", f"{recheck.location.name}: {recheck.action}", why)
    return found


def _require_open(recheck: Recheck) -> None:
    if recheck.state not in OPEN_RECHECKS:
        raise AlreadyDone(state=recheck.get_state_display())


def _close(recheck: Recheck, actor: Member, now: datetime, why: str) -> None:
    drop_reminders(recheck.reminders.all(), now)
    booked = recheck.booked
    if booked and booked.state == BookedState.BOOKED and not booked.visits.active().exists():
        drop_booking(booked, actor, now, why)


def _tell(recheck: Recheck, actor: Member, now: datetime, verb: str, sentence: str, reason: str) -> None:
    tell(
        practice=recheck.practice,
        now=now,
        verb=verb,
        subject=recheck,
        topic="aftercare",
        actor=actor,
        sentence=sentence,
        reason=reason,
        after={"state": recheck.state, "result": recheck.result},
    )
