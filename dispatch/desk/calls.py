"""The rows of open calls: what is wanted, by when, who is planned, who was asked."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from cases.models import Call, CallState, Urgency, Visit, VisitState
from dispatch.desk.axis import share
from dispatch.desk.shapes import Axis, CallRow, Going, OfferRow, Planned, VerdictRow
from dispatch.desk.view import View
from dispatch.desk.words import ago_words, joined, left_words, whole_minutes
from dispatch.inputs.names import call_name, key_of
from dispatch.inputs.needs import complaint_name
from dispatch.models import Offer, OfferState
from dispatch.planner.plan import Outcome, Unassigned
from dispatch.planner.words import minutes_words
from dispatch.services.making import wants_somebody
from dispatch.situation.whereabouts import minutes_left
from rotas.models import Vet

NOT_WORKED_OUT = 1 << 40
"""Sorts vets whose picking was not worked out behind those whose was."""


def call_rows(view: View, axis: Axis) -> tuple[CallRow, ...]:
    """Return a row for every open call, most costly to leave first."""
    dearest = max((item.wait_cost for item in view.ranking.values()), default=0)
    return tuple(_row(view, axis, call, dearest) for call in view.in_order)


def _row(view: View, axis: Axis, call: Call, dearest: int) -> CallRow:
    ranked = view.ranking.get(call_name(call))
    unassigned = view.unassigned.get(call_name(call))
    left_min = _left_min(view, call)
    free = tuple(view.situation.free_places(call))
    return CallRow(
        call_id=call.pk,
        number=call.number,
        urgency=call.urgency,
        urgency_words=Urgency(call.urgency).label,
        complaint=complaint_name(call),
        farm=farm_words(call),
        where=_where(call),
        hazards=call.location.hazards if call.location else "",
        state=call.state,
        state_words=state_words(view, call),
        rang=f"rang {view.clock(call.called_at)}, {ago_words(view.now - call.called_at)}",
        position=ranked.position if ranked else None,
        arrive_by=call.arrive_by,
        arrive_by_words=f"arrive by {view.clock(call.arrive_by)}"
        if call.arrive_by
        else "no arrival promised",
        slack_share=share(axis, call.arrive_by) if call.arrive_by else 0.0,
        worse_share=share(axis, call.worse_at) if call.worse_at and call.worse_at >= view.now else None,
        is_late=left_min is not None and left_min < 0,
        left="" if left_min is None else left_words(left_min),
        left_note=_left_note(view, call),
        wait_cost=ranked.wait_cost if ranked else None,
        wait_share=round(100 * ranked.wait_cost / dearest, 2) if ranked and dearest > 0 else 0.0,
        wait_words=ranked.sentence if ranked else "not yet planned" if free else "",
        planned=planned(view, axis, call),
        plan_words=_plan_words(view, call, unassigned),
        going=tuple(_going(view, visit) for _, visit in sorted(view.situation.places_of(call.pk).items())),
        free_places=free,
        offers=tuple(_offer(view, offer) for offer in view.situation.offers_of(call.pk)),
        verdicts=_verdicts(view, call),
        reasons=reasons_of(call.assessment),
        suggestions=suggestions(unassigned),
        told=_told(view, call),
    )


def farm_words(call: Call) -> str:
    """Return the farm's name, or say that nobody knows it yet."""
    return call.location.name if call.location else "farm not known yet"


def _where(call: Call) -> str:
    access = call.location.access if call.location else call.caller_name
    return ". ".join(part.rstrip(".") for part in (call.place_note, access) if part)


def _left_min(view: View, call: Call) -> int | None:
    return None if call.arrive_by is None else whole_minutes(call.arrive_by - view.now)


def _left_note(view: View, call: Call) -> str:
    if call.biology_passed:
        return "past the point where the outcome worsens: a vet tells the caller the prognosis"
    if call.worse_at is None:
        return ""
    minutes = whole_minutes(call.worse_at - view.now)
    return f"outcome worsens in {minutes_words(minutes)}" if minutes >= 0 else "the outcome has worsened"


def state_words(view: View, call: Call) -> str:
    """Say where a call stands, with the time that it was left for."""
    if call.state == CallState.DEFERRED and call.not_before:
        past = call.not_before <= view.now
        return "waiting again" if past else f"left until {view.clock(call.not_before)}"
    return CallState(call.state).label


def planned(view: View, axis: Axis, call: Call) -> tuple[Planned, ...]:
    """Return planned arrivals, first is first."""
    found = []
    for vet, stop in view.stops_of(call):
        at = max(view.at(stop.arrive), view.now)
        name = view.name_of(vet)
        late = 0 if call.arrive_by is None else max(0, whole_minutes(at - call.arrive_by))
        found.append(Planned(key_of(vet), name, at, share(axis, at), f"{name} {view.clock(at)}", late))
    return tuple(sorted(found, key=lambda item: item.at))


def _plan_words(view: View, call: Call, unassigned: Unassigned | None) -> str:
    if not call.visit_wanted:
        return _phone_words(view, call)
    if call.location is None:
        return "cannot be planned until the farm is known"
    if unassigned is not None:
        return unassigned.sentence
    arrivals = [
        f"{view.name_of(vet)} arrives {view.clock(view.at(s.arrive))}" for vet, s in view.stops_of(call)
    ]
    if arrivals:
        return joined(arrivals)
    return "" if view.situation.places_of(call.pk) else "being planned"


def _phone_words(view: View, call: Call) -> str:
    if call.vet_phone_by is None:
        return "a vet advises by telephone"
    return f"a vet rings by {view.clock(call.vet_phone_by)}"


def suggestions(unassigned: Unassigned | None) -> tuple[str, ...]:
    """Return what could be done for a call that nobody goes to."""
    if unassigned is None or unassigned.outcome == Outcome.DEFERRED:
        return ()
    return unassigned.suggestions + tuple(passed.sentence for passed in unassigned.exceptions)


def _going(view: View, visit: Visit) -> Going:
    name = view.situation.crew[visit.vet_id].name if visit.vet_id in view.situation.crew else "A vet"
    return Going(visit.pk, visit.vet_id, name, f"{name} {_progress(view, visit)}")


def _progress(view: View, visit: Visit) -> str:
    if visit.state == VisitState.SET_OUT:
        return f"set out {view.clock(visit.set_out_at)}"
    if visit.state == VisitState.ON_FARM:
        left = minutes_left(visit, view.now)
        return f"on farm since {view.clock(visit.on_farm_at)}, about {minutes_words(left)} left"
    if visit.state == VisitState.FINISHED:
        return f"finished {view.clock(visit.finished_at)}"
    return f"accepted {view.clock(visit.accepted_at)}"


def _offer(view: View, offer: Offer) -> OfferRow:
    vet = view.situation.crew.get(offer.vet_id)
    name = vet.name if vet else "a vet who has left"
    return OfferRow(
        offer.pk,
        offer.vet_id,
        name,
        offer.place,
        offer.state,
        offer_words(view, offer, name),
        offer.state == OfferState.OPEN,
    )


def offer_words(view: View, offer: Offer, name: str) -> str:
    """Say how an offer stands: "on offer to Anand until 02:31"."""
    if offer.state == OfferState.OPEN:
        over = offer.lapses_at <= view.now
        return (
            f"{name} has not answered" if over else f"on offer to {name} until {view.clock(offer.lapses_at)}"
        )
    at = view.clock(offer.answered_at)
    return {
        OfferState.ACCEPTED: f"{name} accepted {at}",
        OfferState.DECLINED: f"{name} declined {at}: {offer.get_decline_reason_display()}",
        OfferState.LAPSED: f"{name} did not answer by {at}",
        OfferState.WITHDRAWN: f"withdrawn from {name} {at}",
    }[OfferState(offer.state)]


def _verdicts(view: View, call: Call) -> tuple[VerdictRow, ...]:
    rows: list[tuple[int, VerdictRow]] = []
    wanted = wants_somebody(call, view.now) and bool(places_to_ask(view, call))
    for vet in view.situation.vets:
        verdict = view.verdict(call, vet)
        if verdict is not None:
            arrives = "" if verdict.arrive is None else view.clock(view.at(verdict.arrive))
            row = VerdictRow(
                vet.pk, vet.name, verdict.can_go, verdict.in_plan, verdict.sentence, arrives,
                may_be_asked=wanted and verdict.can_go and _is_free_to_be_asked(view, call, vet),
                change=verdict.change.sentence if verdict.change else "",
            )  # fmt: skip
            rows.append((verdict.change.points if verdict.change else NOT_WORKED_OUT, row))
    rows.sort(key=lambda item: (not item[1].in_plan, not item[1].can_go, item[0]))
    return tuple(row for _, row in rows)


def places_to_ask(view: View, call: Call) -> list[int]:
    """Return the places that nobody holds or is being asked for."""
    on_offer = {o.place for o in view.situation.offers_of(call.pk) if o.state == OfferState.OPEN}
    return [place for place in view.situation.free_places(call) if place not in on_offer]


def _is_free_to_be_asked(view: View, call: Call, vet: Vet) -> bool:
    """Say whether an offer could be put; a vet who said no may be asked again by a person."""
    on_it = {visit.vet_id for visit in view.situation.places_of(call.pk).values()}
    asked = {o.vet_id for o in view.situation.offers_of(call.pk) if o.state == OfferState.OPEN}
    return vet.pk not in on_it | asked and not vet.is_stood_down(view.now)


def reasons_of(assessment: Mapping[str, Any]) -> tuple[str, ...]:
    """Return why triage gave this class, in its own sentences."""
    kept = assessment.get("reasons", ())
    return tuple(item["sentence"] if isinstance(item, Mapping) else str(item) for item in kept)


def _told(view: View, call: Call) -> str:
    """Return what the caller may be told while nobody has accepted. Promises nothing that does not hold."""
    if not wants_somebody(call, view.now) or view.situation.places_of(call.pk):
        return ""
    hear_by = min(view.now + timedelta(minutes=10), _lapse_or_never(view, call))
    return f"Nobody is being sent yet. We are still asking. You will hear by {view.clock(hear_by)}."


def _lapse_or_never(view: View, call: Call) -> datetime:
    opens = [o.lapses_at for o in view.situation.offers_of(call.pk) if o.state == OfferState.OPEN]
    return max(view.now, min(opens, default=view.now + timedelta(hours=1)))
