"""What follows from a report: the duty worked, the kit used up, the rechecks that are owed."""

from datetime import datetime
from typing import Any

from cases.kit import spent_kit
from cases.models import ProcedureKit, Visit, VisitState
from cases.services.rechecks import start_rechecks
from rotas.models import AuditLine, DutyKind, Kit, KitPlace, KitState, Member
from rotas.services.duty import record_work
from rotas.services.vets import move_kit


def after_report(
    visit: Visit, actor: Member, now: datetime, state_before: str, kit_used: list[str] | None
) -> None:
    """Bring duty, kit and rechecks in step with the visit; safe to repeat."""
    write_duty(visit, actor, now)
    if visit.state != VisitState.FINISHED:
        return
    if state_before != VisitState.FINISHED:
        _use_kit(visit, actor, now, kit_used)
    start_rechecks(visit=visit, actor=actor, now=now)


def write_duty(visit: Visit, actor: Member | None, now: datetime) -> None:
    """Write what the vet worked: from setting out to the end of the job, and the drive home."""
    start = visit.set_out_at or visit.on_farm_at
    end = visit.finished_at or _stood_down_at(visit, now)
    spans: dict[str, tuple[datetime, datetime]] = {}
    if start and end and start < end:
        spans[DutyKind.CALL_OUT] = (start, end)
    if visit.finished_at and visit.home_at and visit.finished_at < visit.home_at:
        spans[DutyKind.DRIVE_HOME] = (visit.finished_at, visit.home_at)
    if spans:
        record_work(vet=visit.vet, spans=spans, source=f"visit:{visit.pk}", now=now, actor=actor)


def _stood_down_at(visit: Visit, now: datetime) -> datetime | None:
    if visit.state != VisitState.STOOD_DOWN:
        return None
    lines = AuditLine.objects.for_practice(visit.practice)
    line = lines.filter(subject=f"visit:{visit.pk}", verb="visit_stood_down").first()
    return line.at if line else now


def _use_kit(visit: Visit, actor: Member, now: datetime, named: list[str] | None) -> None:
    """Mark as used what the job used up, once per job: one of its vets brought it."""
    if visit.call is None and named is None:
        return
    if visit.call and visit.call.visits.filter(state=VisitState.FINISHED).exclude(pk=visit.pk).exists():
        return
    kinds = set(named) if named is not None else _spent(visit.call.assessment if visit.call else {})
    written = ProcedureKit.objects.filter(record__visit=visit).values_list("kit__kind", flat=True)
    for kind in sorted(kinds - set(written)):
        kit = _kit_at_hand(visit, kind)
        if kit is not None:
            move_kit(
                kit=kit,
                place=kit.place,
                state=KitState.USED,
                ready_at=None,
                actor=actor,
                now=now,
                reason=f"visit:{visit.pk}",
            )


def _spent(assessment: dict[str, Any]) -> frozenset[str]:
    return spent_kit(assessment.get("kit", []), assessment.get("skills", []))


def _kit_at_hand(visit: Visit, kind: str) -> Kit | None:
    """Return the ready piece in this vet's car, or else in that of the other vet on the job."""
    in_cars = Kit.objects.for_practice(visit.practice).filter(place=KitPlace.CAR)
    ready = in_cars.filter(kind=kind, state=KitState.READY)
    own = ready.filter(vet=visit.vet).order_by("pk").first()
    if own is not None or visit.call is None:
        return own
    others = visit.call.visits.standing().exclude(pk=visit.pk).values("vet")
    return ready.filter(vet__in=others).order_by("pk").first()
