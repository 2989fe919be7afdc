"""A vet's attendance: taken, reported on, stood down."""

from datetime import datetime, timedelta
from typing import Any

from django.db import IntegrityError, transaction

from cases.access import visit_for_update
from cases.errors import CallClosed, OnlyThisVet, PlaceTaken
from cases.models import (
    BookedState,
    BookedVisit,
    Call,
    CallState,
    ReportKind,
    Visit,
    VisitReport,
    VisitState,
)
from cases.progress import Course, Report, call_state, course_of
from cases.services.after_visit import after_report, write_duty
from cases.services.said import required
from rotas.access import require_role
from rotas.errors import AlreadyDone, BadInput, FromTheFuture, NotAllowed, NotFound
from rotas.models import Member, RestException, Role, Vet
from rotas.services.telling import tell

CLOCKS_MAY_DIFFER = timedelta(minutes=2)
LONGEST_ESTIMATE_MIN = 24 * 60


@transaction.atomic
def open_visit(
    *,
    call: Call | None = None,
    booked: BookedVisit | None = None,
    vet: Vet,
    place: int = 1,
    now: datetime,
    actor: Member | None,
    exception: RestException | None = None,
) -> Visit:
    """Give a place on a call, or a booked visit, to a vet. Raises PlaceTaken if another has it.

    The row of the call or booking is locked here; the database's own constraint is the last word.
    """
    to = _locked(call, booked)
    if vet.practice_id != to.practice_id:
        raise NotFound(what="vet")
    _require_open(to, vet, place)
    _require_free(to, vet, place)
    try:
        with transaction.atomic():
            visit = Visit.objects.create(
                practice=to.practice,
                call=to if isinstance(to, Call) else None,
                booked=to if isinstance(to, BookedVisit) else None,
                vet=vet,
                place=place,
                accepted_at=now,
                exception=exception,
            )
    except IntegrityError:
        _require_free(to, vet, place)
        raise
    _settle(visit, actor, now)
    second = " as second vet" if place == 2 else ""
    _tell(visit, actor, now, "visit_accepted", f"{vet} has {name_of(to)}{second}")
    return visit


def _locked(call: Call | None, booked: BookedVisit | None) -> Call | BookedVisit:
    if call is not None:
        calls = Call.objects.select_for_update(of=("self",))
        return calls.select_related("practice", "location").get(pk=call.pk)
    if booked is None:
        raise BadInput(field="call", problem="name a call or a booked visit.")
    rows = BookedVisit.objects.select_for_update(of=("self",))
    return rows.select_related("practice", "location", "vet__member").get(pk=booked.pk)


def _require_open(to: Call | BookedVisit, vet: Vet, place: int) -> None:
    if isinstance(to, BookedVisit):
        if to.state != BookedState.BOOKED:
            raise AlreadyDone(state=to.get_state_display())
        if to.vet is not None and to.vet_id != vet.pk:
            raise OnlyThisVet(vet=to.vet.name)
    elif not to.is_open:
        raise CallClosed(number=to.number, state=to.get_state_display())
    if not 1 <= place <= (to.vets_needed if isinstance(to, Call) else 1):
        raise BadInput(field="place", problem="there is no such place; the job does not want that many vets.")


def _require_free(to: Call | BookedVisit, vet: Vet, place: int) -> None:
    standing = to.visits.standing().select_related("vet__member")
    taken = standing.filter(place=place).first() or standing.filter(vet=vet).first()
    if taken is not None:
        raise PlaceTaken(
            vet=taken.vet.name,
            since=f"{to.practice.local(taken.accepted_at):%H:%M}",
            visit=taken.pk,
            place=taken.place,
        )


@transaction.atomic
def report_progress(
    *,
    visit_id: Any,
    actor: Member,
    now: datetime,
    kind: str,
    happened_at: datetime,
    key: str,
    minutes: int | None = None,
    note: str = "",
    kit_used: list[str] | None = None,
) -> Visit:
    """Write what a vet reports and return the visit as it now stands.

    A report may come late and in any order: it lands at the time that it happened. The same `key`
    sent again changes nothing. A time that cannot be meant is kept as reported and counted from the
    first moment that can be; a report about a visit that was stood down is kept as well, and only a
    moment that has not come yet is refused. `kit_used`, with "finished", names the kit that is
    used up; left out, it is what such a job uses up.
    """
    visit = visit_for_update(actor.practice, visit_id)
    require_own(visit, actor)
    happened_at = _checked(kind, happened_at, minutes, now)
    report, is_new = VisitReport.objects.get_or_create(
        visit=visit,
        key=required(key, "key", "every report needs a key of its own.")[:80],
        defaults={
            "practice": visit.practice,
            "kind": kind,
            "happened_at": happened_at,
            "received_at": now,
            "minutes": minutes if kind == ReportKind.ESTIMATE else None,
            "note": note.strip(),
        },
    )
    if not is_new:
        return _known(visit, report, kind)
    before = _facts(visit)
    course = course_of_visit(visit)
    _apply(visit, course)
    _tell_report(visit, report, course, actor, now, before)
    after_report(visit, actor, now, before["state"], kit_used)
    _settle(visit, actor, now)
    return visit


def _known(visit: Visit, report: VisitReport, kind: str) -> Visit:
    """Answer a report that has come before; another report under its key must not be lost."""
    if report.kind != kind:
        problem = f"this key already names the report {report.get_kind_display()!r}. Send it with a new key."
        raise BadInput(field="key", problem=problem)
    return visit


def require_own(visit: Visit, actor: Member) -> None:
    """Refuse whoever is neither the visit's own vet nor at the desk."""
    require_role(actor, Role.VET, Role.RECEPTION)
    if not actor.holds(Role.RECEPTION) and visit.vet.member_id != actor.pk:
        raise NotAllowed(role="reception, to report for another vet")


def _checked(kind: str, happened_at: datetime, minutes: int | None, now: datetime) -> datetime:
    if kind not in ReportKind.values:
        raise BadInput(field="kind", problem=f"say one of {', '.join(ReportKind.values)}.")
    if happened_at > now + CLOCKS_MAY_DIFFER:
        raise FromTheFuture(field="happened_at")
    if kind == ReportKind.ESTIMATE and not (minutes is not None and 0 <= minutes <= LONGEST_ESTIMATE_MIN):
        raise BadInput(field="minutes", problem="say how many minutes are left, from 0 to 1440.")
    return min(happened_at, now)


def course_of_visit(visit: Visit) -> Course:
    """Return the course of a visit from every report that has arrived so far."""
    reports = [Report(row.kind, row.happened_at, row.minutes) for row in visit.reports.all()]
    not_before = visit.call.called_at if visit.call else visit.accepted_at - timedelta(days=1)
    return course_of(reports, not_before=not_before)


def _apply(visit: Visit, course: Course) -> None:
    visit.set_out_at = course.set_out_at
    visit.on_farm_at = course.on_farm_at
    visit.finished_at = course.finished_at
    visit.home_at = course.home_at
    visit.minutes_left_estimate = course.minutes_left
    visit.estimated_at = course.estimated_at
    if visit.state != VisitState.STOOD_DOWN:
        visit.state = course.state
    visit.save()


def _settle(visit: Visit, actor: Member | None, now: datetime) -> None:
    """Let the call or the booking follow its visits; one that has ended stays ended."""
    if visit.call is not None:
        _settle_call(visit.call, actor, now)
    elif visit.booked is not None and visit.state == VisitState.FINISHED:
        booked = BookedVisit.objects.filter(pk=visit.booked.pk, state=BookedState.BOOKED)
        booked.update(state=BookedState.DONE)


def _settle_call(call: Call, actor: Member | None, now: datetime) -> None:
    if not call.is_open and call.state != CallState.SERVED:
        return
    visits = list(call.visits.values_list("state", "finished_at"))
    put_off = call.not_before is not None and call.not_before > now
    was, state = call.state, call_state(call.vets_needed, [state for state, _ in visits], put_off=put_off)
    if was == CallState.SERVED and state != CallState.SERVED:
        return
    call.state = state
    if state == CallState.SERVED:
        call.closed_at = max(at for _, at in visits if at is not None)
    call.save(update_fields=["state", "closed_at"])
    if call.state == CallState.SERVED != was:
        tell(
            practice=call.practice,
            now=now,
            verb="call_served",
            subject=call,
            topic="call",
            actor=actor,
            sentence=f"Call {call.number} served",
            before={"state": was},
            after={"state": call.state},
        )


@transaction.atomic
def stand_down(*, visit_id: Any, actor: Member, now: datetime, reason: str) -> Visit:
    """Take a vet off a call or booking; it waits again unless it has ended. What was driven counts."""
    visit = visit_for_update(actor.practice, visit_id)
    require_own(visit, actor)
    if visit.state in (VisitState.FINISHED, VisitState.STOOD_DOWN):
        raise AlreadyDone(state=visit.get_state_display())
    return let_go(visit, actor, now, required(reason, "reason", "say why this vet is not needed."))


def let_go(visit: Visit, actor: Member, now: datetime, reason: str) -> Visit:
    """Stand down a visit whose call or booking is locked."""
    before = _facts(visit)
    visit.state = VisitState.STOOD_DOWN
    visit.save(update_fields=["state"])
    write_duty(visit, actor, now)
    _settle(visit, actor, now)
    to = visit.call or visit.booked
    sentence = f"{visit.vet} stood down from {name_of(to)}"
    _tell(visit, actor, now, "visit_stood_down", sentence, reason, before)
    return visit


def name_of(to: Call | BookedVisit | None) -> str:
    """Return how a call or booking is spoken of."""
    if isinstance(to, Call):
        return f"call {to.number}"
    return f"the booked visit to {to.location.name}" if to else "nothing"


def _tell_report(
    visit: Visit, report: VisitReport, course: Course, actor: Member, now: datetime, before: dict[str, Any]
) -> None:
    at = f"{visit.practice.local(report.happened_at):%a %H:%M}"
    word = str(report.get_kind_display())
    if report.kind == ReportKind.ESTIMATE:
        word = f"{report.minutes} min left"
    sentence = f"{visit.vet}, {name_of(visit.call or visit.booked)}: {word} at {at}"
    if report.received_at - report.happened_at > CLOCKS_MAY_DIFFER:
        sentence += f", heard at {visit.practice.local(report.received_at):%H:%M}"
    if visit.state == VisitState.STOOD_DOWN:
        sentence += "; the vet had been stood down"
    reason = ". ".join(filter(None, [report.note, *course.moved]))
    _tell(visit, actor, now, f"visit_{report.kind}", sentence, reason, before)


def _facts(visit: Visit) -> dict[str, Any]:
    return {
        "state": visit.state,
        "set_out_at": visit.set_out_at,
        "on_farm_at": visit.on_farm_at,
        "finished_at": visit.finished_at,
        "home_at": visit.home_at,
        "minutes_left": visit.minutes_left_estimate,
    }


def _tell(
    visit: Visit,
    actor: Member | None,
    now: datetime,
    verb: str,
    sentence: str,
    reason: str = "",
    before: dict[str, Any] | None = None,
) -> None:
    after = _facts(visit) | {"call": visit.call_id, "booked": visit.booked_id, "vet": visit.vet_id}
    tell(
        practice=visit.practice,
        now=now,
        verb=verb,
        subject=visit,
        sentence=sentence,
        topic="visit",
        actor=actor,
        reason=reason,
        before=before,
        after=after,
    )
