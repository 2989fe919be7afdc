"""The one sentence above everything: what to do next, and why."""

from collections.abc import Iterator
from datetime import timedelta

from cases.models import Call
from dispatch.desk.calls import farm_words, offer_words, places_to_ask, suggestions
from dispatch.desk.shapes import Do, NextAction
from dispatch.desk.view import View
from dispatch.desk.words import sentence
from dispatch.inputs.exclusions import refused_by
from dispatch.inputs.names import call_name, key_of
from dispatch.inputs.needs import complaint_name
from dispatch.models import Offer, OfferState
from dispatch.planner.plan import LimitPassed, Outcome, Stop, Unassigned
from dispatch.services.making import wants_somebody
from dispatch.services.why import why

SOON = timedelta(minutes=20)
"""An offer goes out this long before the vet must leave, so that a sleeper has time to answer [cp]."""


def next_action(view: View) -> NextAction:
    """Return the first thing in the planner's order that wants a person now; else what comes next.

    What is due stands before an awaited answer, and that before what is due only later.
    """
    wanted = [_for_call(view, call) for call in view.in_order if wants_somebody(call, view.now)]
    found = [action for action in wanted if action is not None]
    due = next((action for action in found if action.is_due), None)
    later = next(iter(found), None)
    return due or _waiting_for_an_answer(view) or later or _nothing(view)


def _for_call(view: View, call: Call) -> NextAction | None:
    """Return what this call wants done, now or later; None while it waits for an answer."""
    if call.location is None:
        return NextAction(
            Do.FIND_FARM,
            f"Say which farm call {call.number} is about.",
            "It cannot be planned until its farm is known.",
            "Find the farm",
            call.pk,
        )
    free = places_to_ask(view, call)
    if not free:
        return None
    unassigned = view.unassigned.get(call_name(call))
    if unassigned is not None:
        late = unassigned.outcome == Outcome.DEFERRED
        return (_before_it_worsens(view, call) if late else None) or _unassigned(view, call, unassigned)
    for vet, stop in sorted(view.stops_of(call), key=lambda item: item[1].arrive):
        if may_be_asked(view, call, key_of(vet)):
            sent = _send(view, call, vet, stop, free[0])
            return sent if sent.is_due else _before_it_worsens(view, call) or sent
    return _nobody_left(view, call)


def may_be_asked(view: View, call: Call, vet_id: int) -> bool:
    """Say whether this vet can be offered the call: fit, not on it, not asked, no answer in the way."""
    vet = view.situation.crew.get(vet_id)
    if vet is None or vet.is_stood_down(view.now):
        return False
    on_it = {visit.vet_id for visit in view.situation.places_of(call.pk).values()}
    asked = {o.vet_id for o in view.situation.offers_of(call.pk) if o.state == OfferState.OPEN}
    return vet_id not in on_it | asked | refused_by(view.situation, call).keys()


def _send(view: View, call: Call, vet: str, stop: Stop, place: int) -> NextAction:
    leave, name = max(view.at(stop.leave), view.now), view.name_of(vet)
    due = leave - view.now <= SOON
    when = "now" if due else f"at {view.clock(leave)}"
    assert view.kept is not None
    home_at = view.routes[vet].home_at
    limit = view.situation.home_limit(key_of(vet))
    detail = [why(view.kept.problem, vet, stop.job, view.situation)]
    home = f"home by {view.clock(view.at(home_at))}" if home_at is not None else ""
    bound = f"limit {view.clock(limit.at)}" if limit else ""
    return NextAction(
        do=Do.OFFER,
        sentence=f"Send {name} to {farm_words(call)} {when}.",
        detail=f"{sentence(detail)} {sentence([home, bound])}".strip(),
        button=f"Offer to {name}",
        call_id=call.pk,
        vet_id=key_of(vet),
        place=place,
        is_due=due,
    )


def _unassigned(view: View, call: Call, left: Unassigned) -> NextAction:
    detail = " ".join((left.sentence, *suggestions(left)))
    if left.outcome == Outcome.DEFERRED and left.start is not None:
        until = view.at(left.start)
        words = f"Leave {farm_words(call)} for the day team at {view.clock(until)}."
        return NextAction(Do.DEFER, words, left.sentence, "Leave for the day team", call.pk, until=until)
    if left.outcome == Outcome.HAND_OVER and left.neighbour is not None:
        neighbour = key_of(left.neighbour)
        names = {row.pk: row.name for row in view.situation.neighbours}
        name = names.get(neighbour, "a neighbouring practice")
        words, button = f"Ask {name} to take {farm_words(call)} now.", f"Hand over to {name}"
        return NextAction(Do.HAND_OVER, words, detail, button, call.pk, neighbour_id=neighbour)
    return _sign(view, call, left.exceptions, detail) or _nobody_can(call, detail)


def _sign(
    view: View, call: Call, exceptions: tuple[LimitPassed, ...], detail: str, *, when: str = ""
) -> NextAction | None:
    """Return the least bad exception: it needs a manager's name."""
    least = min(exceptions, key=lambda passed: passed.over_min, default=None)
    if least is None:
        return None
    name = view.name_of(least.vet)
    words = f"Nobody can reach {farm_words(call)}{when} within the limits: ask a manager about {name}."
    button = f"Assign {name} with a name and a reason"
    return NextAction(Do.SIGN, words, detail, button, call.pk, key_of(least.vet))


def _before_it_worsens(view: View, call: Call) -> NextAction | None:
    """Return the least bad exception where the plan comes only once the outcome has worsened."""
    passed = view.sooner(call)
    if not passed:
        return None
    worse = f"Nobody rested is there before the outcome worsens at {view.clock(call.worse_at)}."
    detail = " ".join((worse, *(each.sentence for each in passed)))
    return _sign(view, call, passed, detail, when=" in time")


def _nobody_can(call: Call, detail: str) -> NextAction:
    words = f"Nobody here can go to {farm_words(call)}: {complaint_name(call).lower()} needs another way now."
    return NextAction(Do.CHOOSE, words, detail, "See who could", call.pk)


def _nobody_left(view: View, call: Call) -> NextAction | None:
    """Return the call to a person once everybody has been asked; None while a plan is on its way."""
    if call_name(call) not in view.ranking or not view.situation.offers_of(call.pk):
        return None
    words = f"Nobody is left to ask for {farm_words(call)}: ring a manager or a neighbour."
    return NextAction(Do.CHOOSE, words, " ".join(_who_else(view)), "Choose by hand", call.pk)


def _who_else(view: View) -> Iterator[str]:
    for neighbour in view.situation.neighbours[:2]:
        phone = f", {neighbour.phone.as_international}" if neighbour.phone else ""
        yield f"{neighbour.name} is about {neighbour.minutes_away} min away{phone}."


def _waiting_for_an_answer(view: View) -> NextAction | None:
    opens = [offer for offer in view.situation.offers if offer.state == OfferState.OPEN]
    if not opens:
        return None
    offer = min(opens, key=lambda each: each.lapses_at)
    return _awaited(view, offer)


def _awaited(view: View, offer: Offer) -> NextAction:
    call = next(call for call in view.situation.calls if call.pk == offer.call_id)
    vet = view.situation.crew.get(offer.vet_id)
    name = vet.name if vet else "the vet"
    words = f"Wait for {name} to answer about {farm_words(call)}."
    detail = sentence([offer_words(view, offer, name)]) + " The next best is asked by itself after that."
    return NextAction(
        Do.WAIT,
        words,
        detail,
        "Withdraw the offer",
        call.pk,
        offer.vet_id,
        offer.place,
        offer_id=offer.pk,
        until=offer.lapses_at,
    )


def _nothing(view: View) -> NextAction:
    return NextAction(Do.NOTHING, quiet_words(view), "")


def quiet_words(view: View) -> str:
    """Say what is normal when nobody waits, and who is on."""
    waiting = [call for call in view.situation.calls if wants_somebody(call, view.now)]
    if waiting:
        unplanned = any(call_name(call) not in view.ranking for call in waiting)
        coming = "The plan for the newest call is on its way."
        return coming if unplanned else "Everything that can be done now is done."
    return f"Nobody is waiting. {on_duty_words(view)}"


def on_duty_words(view: View) -> str:
    """Say who is on: "Anand is first on call until 08:00, Brockley second."."""
    parts: list[str] = []
    for vet in view.situation.vets:
        duty = view.situation.duty_of(vet.pk)
        if duty is None or duty.starts_at > view.now:
            continue
        ends_at = view.situation.duty_ends_at(vet.pk) or duty.ends_at
        verb = "is " if not parts else ""
        parts.append(f"{vet.name} {verb}{duty.get_role_display()} until {view.clock(ends_at)}")
    return f"{', '.join(parts)}." if parts else "Nobody is on duty."
