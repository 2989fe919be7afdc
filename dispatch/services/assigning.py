"""Assigning by hand: with a reason, and past a rest limit with a manager's name and reason."""

from datetime import datetime, timedelta
from typing import Any

from django.db import transaction

from cases.access import booked_in, call_for_update
from cases.models import OPEN_STATES, Call, DiseaseStatus, Visit
from cases.services.visits import open_visit
from dispatch.errors import FarmClosed, NotWaiting, RestLimitPassed
from dispatch.models import OfferState
from dispatch.services.judging import Judged, RestLimit, judge
from dispatch.services.making import end_offer, free_places, open_offers, tell, withdraw
from dispatch.services.offers import free_place
from rotas import audit, events
from rotas.access import find, require_role, vet_in
from rotas.errors import BadInput, NotAllowed
from rotas.models import Member, RestException, Role, Vet
from rotas.services.rest import sign_exception

STOOD_DOWN_RULE = "stood_down"


@transaction.atomic
def assign_by_hand(
    *,
    call_id: Any,
    vet_id: Any,
    actor: Member,
    now: datetime,
    reason: str,
    place: int | None = None,
    approved_by_id: Any = None,
    approval_reason: str = "",
) -> Visit:
    """Give a call to a vet without asking the planner. The reason is kept, and every rule passed is named.

    A rest limit, or a vet's own "not safe", is passed only with the name and reason of a manager
    (`approved_by_id`, `approval_reason`): RestLimitPassed says which limit and by how much. It
    writes the exception and the rest that is owed for it. A farm under stand-off is refused.
    """
    require_role(actor, Role.RECEPTION)
    why = _said(reason, "reason", "say why this vet and not the plan's.")
    call = call_for_update(actor.practice, call_id)
    vet = vet_in(actor.practice, vet_id)
    _require_possible(call)
    chosen = free_place(call, vet, place)
    vet = Vet.objects.select_for_update(of=("self",)).select_related("member", "practice").get(pk=vet.pk)
    judged = judge(call, vet, now)
    exception = _sign_what_is_passed(call, judged, actor, now, approved_by_id, approval_reason)
    visit = open_visit(call=call, vet=vet, place=chosen, now=now, actor=actor, exception=exception)
    _settle_offers(call, visit, actor, now)
    _tell(call, visit, judged, actor, now, why)
    return visit


def _said(text: str, field: str, problem: str) -> str:
    if not text.strip():
        raise BadInput(field=field, problem=problem)
    return text.strip()


def _require_possible(call: Call) -> None:
    if call.state not in OPEN_STATES or not free_places(call):
        holder = call.visits.standing().select_related("vet__member").first()
        if call.state in OPEN_STATES and holder is not None:
            return  # free_place names who has it
        raise NotWaiting(number=call.number, state=call.get_state_display())
    if call.location is not None and call.location.disease_status == DiseaseStatus.STAND_OFF:
        raise FarmClosed(farm=call.location.name)


def _sign_what_is_passed(
    call: Call, judged: Judged, actor: Member, now: datetime, approved_by_id: Any, approval_reason: str
) -> RestException | None:
    """Return the signed exception where a limit is passed; refuse while the name is missing."""
    passed = [each for each in (_own_word(judged.vet, now), judged.limit) if each is not None]
    limit = max(passed, key=lambda each: each.passed_by_min, default=None)
    if limit is None:
        return None
    if approved_by_id is None:
        raise _passed(judged.vet, limit)
    approver = find(
        Member.objects.filter(is_active=True), pk=approved_by_id, practice=actor.practice, what="member"
    )
    why = _said(
        approval_reason,
        "approval_reason",
        "say why no rested vet can go, and that this one says they are fit.",
    )
    return sign_exception(
        vet=judged.vet,
        rule=limit.rule,
        limit_at=limit.at,
        passed_by_min=limit.passed_by_min,
        reason=why,
        subject=audit.name_of(call),
        approved_by=approver,
        now=now,
    )


def _own_word(vet: Vet, now: datetime) -> RestLimit | None:
    """Return the stand-down as a limit that stands now and is passed by what is left of it."""
    if not vet.is_stood_down(now) or vet.stood_down_until is None:
        return None
    minutes = -(-(vet.stood_down_until - now) // timedelta(minutes=1))
    until = vet.practice.local(vet.stood_down_until)
    return RestLimit(STOOD_DOWN_RULE, f"stood down until {until:%a %H:%M}", now, max(1, minutes))


def _passed(vet: Vet, limit: RestLimit) -> RestLimitPassed:
    at = vet.practice.local(limit.at)
    return RestLimitPassed(
        vet=vet.name,
        rule=limit.rule,
        rule_name=limit.rule_name,
        limit=f"{at:%a %H:%M}",
        limit_at=limit.at.isoformat(),
        minutes=limit.passed_by_min,
        needs=["approved_by", "approval_reason"],
    )


def _settle_offers(call: Call, visit: Visit, actor: Member, now: datetime) -> None:
    """The vet's own open offer is answered by this; offers whose place is gone are withdrawn."""
    free = free_places(call)
    for offer in open_offers(call):
        if offer.vet_id == visit.vet_id:
            end_offer(offer, OfferState.ACCEPTED, now, visit=visit)
            tell(
                offer,
                actor,
                now,
                "offer_accepted",
                f"{visit.vet.name} was assigned call {call.number} by hand",
            )
        elif offer.place not in free:
            withdraw(offer, actor, now, f"{visit.vet.name} has call {call.number}")


def _tell(call: Call, visit: Visit, judged: Judged, actor: Member, now: datetime, why: str) -> None:
    passed = [{"code": refusal.code, "sentence": refusal.sentence} for refusal in judged.refusals]
    audit.record(
        practice=call.practice,
        at=now,
        verb="assigned_by_hand",
        subject=call,
        actor=actor,
        reason=why,
        sentence=f"{actor.name} gave call {call.number} to {visit.vet.name} by hand",
        after={
            "visit": visit.pk,
            "vet": visit.vet_id,
            "exception": visit.exception_id,
            "rules_passed": passed,
        },
    )
    events.announce(call.practice_id, "offer", f"call {call.number} was assigned by hand")


@transaction.atomic
def take_booked(*, booked_id: Any, vet_id: Any, actor: Member, now: datetime) -> Visit:
    """Give a booked visit to a vet: by the vet, or by reception for them."""
    require_role(actor, Role.RECEPTION, Role.VET)
    vet = vet_in(actor.practice, vet_id)
    if vet.member_id != actor.pk and not actor.holds(Role.RECEPTION):
        raise NotAllowed(role="reception, to take it for another vet")
    booked = booked_in(actor.practice, booked_id)
    if booked.location.disease_status == DiseaseStatus.STAND_OFF:
        raise FarmClosed(farm=booked.location.name)
    return open_visit(booked=booked, vet=vet, now=now, actor=actor)
