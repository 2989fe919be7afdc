"""What vets say of themselves, and where their kit is."""

from datetime import datetime
from decimal import Decimal

from django.db import transaction

from rotas import audit, events
from rotas.access import require_here
from rotas.errors import BadInput, NotAllowed
from rotas.models import Kit, KitPlace, KitState, Member, Role, SelfReport, TirednessReport, Vet
from rotas.services.rest import stand_down_end
from rotas.services.tiredness import check_hours_slept, hours_words


@transaction.atomic
def report_self(
    *, vet: Vet, state: str, actor: Member, now: datetime, hours_slept: Decimal | None = None
) -> Vet:
    """Write how a vet says they are. "Not safe" stands them down at once; nobody asks why.

    Said by the vet, or to reception by telephone. A later "ok" does not cut a stand-down short:
    a manager may, with `lift_stand_down`. `hours_slept` of the last 24 replaces the estimate of them.
    """
    require_here(actor, vet.practice_id, Role.RECEPTION, Role.VET)
    if not actor.holds(Role.RECEPTION) and actor.pk != vet.member_id:
        raise NotAllowed(role="reception, to report for another vet")
    if state not in SelfReport.values:
        raise BadInput(field="state", problem=f"say one of {', '.join(SelfReport.values)}.")
    check_hours_slept(hours_slept)
    row = Vet.objects.select_for_update(of=("self",)).select_related("member", "practice").get(pk=vet.pk)
    before = {"self_report": row.self_report, "stood_down_until": row.stood_down_until}
    row.self_report = state
    row.self_reported_at = now
    if state == SelfReport.NOT_SAFE:
        row.stood_down_until = max(row.stood_down_until or now, stand_down_end(row, now))
    row.save(update_fields=["self_report", "self_reported_at", "stood_down_until"])
    TirednessReport.objects.create(
        practice_id=row.practice_id, vet=row, at=now, word=state, hours_slept=hours_slept
    )
    _tell_report(row, now, actor, before, hours_slept)
    return row


def _tell_report(vet: Vet, now: datetime, actor: Member, before: dict, hours: Decimal | None) -> None:
    sentence, also = f"{vet} says: {SelfReport(vet.self_report).label}", {}
    if hours is not None:
        sentence, also = f"{sentence}, slept {hours_words(hours)}", {"hours_slept": hours}
    _tell(vet, now, actor, "vet_reported", sentence, before, also=also)


@transaction.atomic
def lift_stand_down(*, vet: Vet, actor: Member, reason: str, now: datetime) -> Vet:
    """End a stand-down early, by a manager and with the reason, such as a slip of the finger."""
    require_here(actor, vet.practice_id, Role.MANAGER)
    if not reason.strip():
        raise BadInput(field="reason", problem="say why this vet is fit to go again.")
    row = Vet.objects.select_for_update(of=("self",)).select_related("member", "practice").get(pk=vet.pk)
    before = {"stood_down_until": row.stood_down_until}
    row.stood_down_until = None
    row.save(update_fields=["stood_down_until"])
    _tell(row, now, actor, "stand_down_lifted", f"{row} may be sent again", before, reason)
    return row


def _tell(
    vet: Vet,
    now: datetime,
    actor: Member,
    verb: str,
    sentence: str,
    before: dict,
    reason: str = "",
    also: dict | None = None,
) -> None:
    audit.record(
        practice=vet.practice,
        at=now,
        verb=verb,
        subject=vet,
        sentence=sentence,
        actor=actor,
        reason=reason,
        before=before,
        after={"self_report": vet.self_report, "stood_down_until": vet.stood_down_until, **(also or {})},
    )
    events.announce(vet.practice_id, "vet", sentence)


@transaction.atomic
def move_kit(
    *,
    kit: Kit,
    place: str,
    state: str,
    ready_at: datetime | None,
    actor: Member,
    now: datetime,
    vet: Vet | None = None,
    reason: str = "",
) -> Kit:
    """Write where a piece of kit is and whether it can be used.

    In a car it needs the `vet` (its present one, when left out). `ready_at` is when sterilising
    ends, and is kept for that state only.
    """
    require_here(actor, kit.practice_id, Role.RECEPTION, Role.VET)
    if place not in KitPlace.values or state not in KitState.values:
        raise BadInput(field="place", problem="say car or base, and ready, used or sterilising.")
    row = Kit.objects.select_for_update(of=("self",)).select_related("practice", "vet__member").get(pk=kit.pk)
    before = _where(row)
    row.vet = _carrier(row, vet) if place == KitPlace.CAR else None
    row.place = place
    row.state = state
    row.ready_at = ready_at if state == KitState.STERILISING else None
    row.save(update_fields=["vet", "place", "state", "ready_at"])
    if before != _where(row):
        _tell_kit(row, now, actor, before, reason)
    return row


def _carrier(kit: Kit, vet: Vet | None) -> Vet:
    carrier = vet or kit.vet
    if carrier is None or carrier.practice_id != kit.practice_id:
        raise BadInput(field="vet", problem="say in whose car it is.")
    return carrier


def _where(kit: Kit) -> dict:
    return {"place": kit.place, "vet": kit.vet_id, "state": kit.state, "ready_at": kit.ready_at}


def _tell_kit(kit: Kit, now: datetime, actor: Member, before: dict, reason: str) -> None:
    place = f"in {kit.vet}'s car" if kit.vet else "at the practice"
    sentence = f"{kit.label or kit.kind}: {kit.get_state_display()}, {place}"
    audit.record(
        practice=kit.practice,
        at=now,
        verb="kit_moved",
        subject=kit,
        sentence=sentence,
        actor=actor,
        reason=reason,
        before=before,
        after=_where(kit),
    )
    events.announce(kit.practice_id, "vet", sentence)
