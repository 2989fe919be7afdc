"""What must not be missed: unowned calls, answers overdue, a clock without a plan."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from cases.models import Call, Urgency, Visit, VisitState
from cases.services.drive_home import DriveAnswer, DriveWord
from dispatch.desk.action import may_be_asked
from dispatch.desk.calls import farm_words
from dispatch.desk.shapes import Alarm
from dispatch.desk.view import View
from dispatch.desk.words import whole_minutes
from dispatch.models import OfferState
from dispatch.planner.words import minutes_words
from dispatch.services.making import wants_somebody
from rotas.models import Vet

LADDER = {Urgency.IMMEDIATE: 5, Urgency.URGENT: 15}
"""Minutes after which a call that nobody has accepted is said aloud [cp]."""
TOP_OF_LADDER_MIN = 15
ESTIMATE_OVERDUE = timedelta(minutes=30)
"""How far past the vet's own estimate, without a word, before the desk says so [cp]."""
RESTS_AT_MOST = timedelta(minutes=60)
"""A nap is twenty minutes; after three times that somebody rings [cp]."""


def alarms(view: View) -> tuple[Alarm, ...]:
    """Return every alarm, calls in the planner's order first."""
    found = [alarm for call in view.in_order for alarm in _of_call(view, call)]
    return (*_of_drives(view), *found, *_of_visits(view), *_of_rota(view))


def _of_call(view: View, call: Call) -> Iterator[Alarm]:
    yield from _phone_overdue(view, call)
    if not wants_somebody(call, view.now):
        return
    if call.location is None:
        yield Alarm("no_farm", f"Call {call.number} has no farm yet, so nobody can be sent.", call.pk)
    yield from _unowned(view, call)
    yield from _everybody_said_no(view, call)


def _phone_overdue(view: View, call: Call) -> Iterator[Alarm]:
    if call.visit_wanted or call.vet_phone_by is None or view.now < call.vet_phone_by:
        return
    late = minutes_words(whole_minutes(view.now - call.vet_phone_by))
    yield Alarm(
        "phone_overdue",
        f"No vet has rung about call {call.number} yet: {late} past.",
        call.pk,
        since=call.vet_phone_by,
    )


def _unowned(view: View, call: Call) -> Iterator[Alarm]:
    """An immediate call that nobody has for 5 min, an urgent one for 15; then the manager is rung."""
    limit = LADDER.get(Urgency(call.urgency))
    waited = view.now - call.called_at
    if limit is None or waited < timedelta(minutes=limit) or not view.situation.free_places(call):
        return
    said = f"Call {call.number}, {farm_words(call)}, is {call.get_urgency_display()} and nobody has it"
    words = f"{said} after {minutes_words(whole_minutes(waited))}."
    if call.urgency == Urgency.IMMEDIATE and waited >= timedelta(minutes=TOP_OF_LADDER_MIN):
        words += " Ring the manager and a neighbouring practice, and tell the caller what is happening."
    yield Alarm("unowned", words, call.pk, since=call.called_at)


def _everybody_said_no(view: View, call: Call) -> Iterator[Alarm]:
    offers = view.situation.offers_of(call.pk)
    if not offers or view.kept is None or any(offer.state == OfferState.OPEN for offer in offers):
        return
    able = [vet.pk for vet in view.situation.vets if (v := view.verdict(call, vet)) and v.can_go]
    if any(may_be_asked(view, call, vet_id) for vet_id in able):
        return
    near = view.situation.neighbours[:1]
    other = f" {near[0].name} is about {near[0].minutes_away} min away." if near else ""
    words = f"Nobody is left to ask for call {call.number}, {farm_words(call)}.{other}"
    yield Alarm("nobody_left", words, call.pk, since=offers[-1].answered_at)


def _of_drives(view: View) -> Iterator[Alarm]:
    """A vet who asked for a lift, until they are home; one who rested first, when nothing is heard since."""
    for visit in view.situation.visits:
        word = view.situation.drive_words.get(visit.pk)
        vet = view.situation.crew.get(visit.vet_id)
        if word is None or vet is None:
            continue
        if word.answer == DriveAnswer.LIFT:
            yield Alarm("lift_wanted", _lift(view, vet, visit, word), visit.call_id, vet.pk, word.at)
        elif word.answer == DriveAnswer.REST and view.now - word.at >= RESTS_AT_MOST:
            words = f"{vet.name} rested at {visit.location} before driving home, and no word since"
            yield Alarm(
                "rests_long", f"{words} {view.clock(word.at)}. Ring them{_number(vet)}.", visit.call_id,
                vet.pk, word.at,
            )  # fmt: skip


def _lift(view: View, vet: Vet, visit: Visit, word: DriveWord) -> str:
    asked = f"asked for a lift {view.clock(word.at)}"
    said = f"{vet.name} is not fit to drive home from {visit.location} and {asked}."
    return f"{said} Find one now and ring them{_number(vet)}; the car is fetched tomorrow."


def _number(vet: Vet) -> str:
    return f", {vet.member.phone.as_international}" if vet.member.phone else ""


def _of_visits(view: View) -> Iterator[Alarm]:
    for vet in view.situation.vets:
        for visit in view.situation.visits_of(vet.pk):
            due = _word_due_by(visit)
            if due is not None and view.now >= due:
                yield Alarm("no_word", _no_word(vet.name, visit.location), visit.call_id, vet.pk, due)


def _word_due_by(visit: Visit) -> datetime | None:
    """Return when a vet on a farm should have been heard of by their own estimate."""
    if visit.state != VisitState.ON_FARM or visit.estimated_at is None or visit.minutes_left_estimate is None:
        return None
    return visit.estimated_at + timedelta(minutes=visit.minutes_left_estimate) + ESTIMATE_OVERDUE


def _no_word(name: str, farm: object) -> str:
    words = f"No word from {name} at {farm} past the time they gave."
    return f"{words} It may only be signal: try the farm's landline first."


def _of_rota(view: View) -> Iterator[Alarm]:
    if not any(view.situation.on_duty(vet.pk) for vet in view.situation.vets):
        yield Alarm("nobody_on_duty", "Nobody is on duty now. Ring the manager.")
