"""Making and ending an offer row: what a person, the clock and the next-best rule all do alike."""

from datetime import datetime, timedelta

from cases.models import Call, CallState, Urgency, VisitState
from dispatch.errors import NotWaiting, NoVisitWanted, OnOffer, StoodDown
from dispatch.inputs.needs import complaint_name
from dispatch.models import Offer, OfferState, Plan
from dispatch.services.offer_codes import code_of
from rotas import audit, events
from rotas.models import Member, Practice, Vet
from rotas.services.reaching import put_to, way_for


def wants_somebody(call: Call, now: datetime) -> bool:
    """Say whether the call wants a vet now; one left for later does once its time has come."""
    if call.state == CallState.DEFERRED:
        return call.visit_wanted and call.not_before is not None and call.not_before <= now
    return call.visit_wanted and call.state == CallState.WAITING


def require_waiting(call: Call, now: datetime) -> None:
    """Refuse a call that wants nobody now."""
    if not call.visit_wanted:
        raise NoVisitWanted(number=call.number)
    if not wants_somebody(call, now):
        raise NotWaiting(number=call.number, state=call.get_state_display())


def require_fit(vet: Vet, now: datetime) -> None:
    """Refuse a vet who is stood down; why is nobody's business."""
    if vet.stood_down_until is not None and vet.is_stood_down(now):
        until = vet.practice.local(vet.stood_down_until)
        raise StoodDown(vet=vet.name, until=f"{until:%a %H:%M}")


def free_places(call: Call) -> list[int]:
    """Return the places of a locked call that nobody has accepted."""
    taken = set(call.visits.exclude(state=VisitState.STOOD_DOWN).values_list("place", flat=True))
    return [place for place in range(1, call.vets_needed + 1) if place not in taken]


def open_offers(call: Call) -> list[Offer]:
    """Return the open offers of a locked call."""
    return list(call.offers.filter(state=OfferState.OPEN).select_related("vet__member", "practice"))


def require_not_on_offer(call: Call, vet: Vet, place: int) -> None:
    """Refuse a place, or a vet, that already waits for an answer on this call."""
    for offer in open_offers(call):
        if place == offer.place or offer.vet_id == vet.pk:
            until = f"{call.practice.local(offer.lapses_at):%H:%M}"
            raise OnOffer(number=call.number, vet=offer.vet.name, until=until, offer=offer.pk)


def lapse_after(call: Call) -> timedelta:
    """Return how long an offer of this call waits for its answer."""
    practice = call.practice
    if call.urgency == Urgency.IMMEDIATE:
        return timedelta(minutes=practice.offer_lapse_immediate_min)
    return timedelta(minutes=practice.offer_lapse_other_min)


def make_offer(
    *,
    call: Call,
    vet: Vet,
    place: int,
    why: str,
    eta: datetime | None,
    plan: Plan | None,
    actor: Member | None,
    now: datetime,
) -> Offer:
    """Write the offer, its line in the story and the message to the vet. The call is locked."""
    offer = Offer.objects.create(
        practice=call.practice,
        call=call,
        vet=vet,
        place=place,
        made_at=now,
        made_by=actor,
        lapses_at=now + lapse_after(call),
        why=why,
        eta=eta,
        plan=plan,
    )
    until = f"{call.practice.local(offer.lapses_at):%H:%M}"
    tell(
        offer, actor, now, "offer_made", f"Call {call.number} offered to {vet.name} until {until}", reason=why
    )
    subject = f"Call {call.number}: {call.get_urgency_display()}"
    write_to(offer, now, subject, _letter(offer, until), text=_short(offer, until))
    return offer


def _short(offer: Offer, until: str) -> str:
    """Return the offer as a text message, with what to answer."""
    call, code = offer.call, code_of(offer.pk)
    place = call.location.name if call.location else "a farm not yet known"
    return (
        f"Call {call.number}, {call.get_urgency_display()}: {complaint_name(call)} at {place}."
        f" Answer YES {code} or NO {code} by {until}. NO {code} TIRED is a full answer."
    )


def _letter(offer: Offer, until: str) -> str:
    call = offer.call
    place = call.location.name if call.location else "a farm not yet known"
    lines = [
        f"{complaint_name(call)} at {place}, {call.get_urgency_display()}.",
        offer.why and f"{offer.why[0].upper()}{offer.why[1:]}.",
        f"Accept or decline by {until}. Too tired is a full answer; you will not be asked why.",
    ]
    return "\n".join(filter(None, lines))


def end_offer(offer: Offer, state: str, now: datetime, **more: object) -> None:
    """Write how an open offer ended."""
    offer.state = state
    offer.answered_at = now
    for name, value in more.items():
        setattr(offer, name, value)
    offer.save(update_fields=["state", "answered_at", *more])


def withdraw(offer: Offer, actor: Member | None, now: datetime, reason: str) -> None:
    """Take back an open offer whose call is locked, and tell the vet."""
    end_offer(offer, OfferState.WITHDRAWN, now)
    sentence = f"Offer of call {offer.call.number} to {offer.vet.name} withdrawn"
    tell(offer, actor, now, "offer_withdrawn", sentence, reason=reason)
    because = f": {reason}" if reason else ""
    write_to(offer, now, f"Call {offer.call.number}: not needed", f"You are not needed for it{because}.")


def write_to(offer: Offer, now: datetime, subject: str, body: str, *, text: str = "") -> None:
    """Put a message to the vet in the outbox, to go at any hour by the way that is theirs then.

    An offer that no line can bring stands on the page of messages, to be rung, until it lapses.
    """
    member, is_open = offer.vet.member, offer.state == OfferState.OPEN
    if not is_open and way_for(member, now, urgent=True) is None:
        return
    put_to(
        member,
        key=f"offer:{offer.pk}:{offer.state}",
        subject=subject,
        body=body,
        text=text or f"{subject}. {body}",
        reply_code=code_of(offer.pk) if is_open else "",
        not_before=now,
        not_after=offer.lapses_at if is_open else None,
        urgent=True,
    )


def tell(
    offer: Offer,
    actor: Member | None,
    now: datetime,
    verb: str,
    sentence: str,
    *,
    reason: str = "",
    **after: object,
) -> None:
    """Write the story's line of an offer and announce it once the change stands."""
    practice: Practice = offer.practice
    facts = {"call": offer.call_id, "vet": offer.vet_id, "place": offer.place, "state": offer.state}
    audit.record(
        practice=practice,
        at=now,
        verb=verb,
        subject=offer,
        sentence=sentence,
        actor=actor,
        actor_name="" if actor else "clock",
        reason=reason,
        after=facts | after,
    )
    events.announce(practice.pk, "offer", sentence)
