"""The desk at one moment, in a fixed number of queries."""

from collections.abc import Iterator
from datetime import datetime

from dispatch.access import plan_in_force
from dispatch.desk.action import next_action, on_duty_words, quiet_words
from dispatch.desk.alarms import alarms
from dispatch.desk.axis import axis_for
from dispatch.desk.calls import call_rows
from dispatch.desk.map import map_features
from dispatch.desk.others import booked_rows, ended_rows, ring_words, unsent_words
from dispatch.desk.plan_age import plan_age
from dispatch.desk.shapes import Desk
from dispatch.desk.vets import vet_rows
from dispatch.desk.view import View
from dispatch.models import Plan, PlanTurn
from dispatch.plan_json import NotReadable
from dispatch.services.kept_plan import KeptPlan
from dispatch.services.turn import being_planned
from dispatch.situation.load import situation_of
from rotas.models import Practice


def desk(practice: Practice, now: datetime) -> Desk:
    """Return everything the desk shows, every sentence made."""
    row = plan_in_force(practice)
    turn = PlanTurn.objects.filter(practice=practice).first()
    view = View(situation_of(practice, now), readable(row))
    axis = axis_for(now, _instants(view), practice.tz)
    return Desk(
        now=now,
        clock=f"{practice.local(now):%a %d %b %H:%M}",
        on_duty=on_duty_words(view),
        action=next_action(view),
        plan=plan_age(view, row, turn, at_work=being_planned(practice.pk)),
        axis=axis,
        calls=call_rows(view, axis),
        vets=vet_rows(view, axis),
        booked=booked_rows(view, axis),
        alarms=alarms(view),
        ended=ended_rows(view),
        unsent=unsent_words(view),
        to_ring=ring_words(view),
        map=map_features(view),
        quiet_words=quiet_words(view),
    )


def readable(row: Plan | None) -> KeptPlan | None:
    """Return the kept plan, or None where there is none or another version wrote it."""
    if row is None:
        return None
    kept = KeptPlan(row)
    try:
        _ = kept.problem, kept.answer
    except NotReadable:
        return None
    return kept


def _instants(view: View) -> Iterator[datetime]:
    """Yield what the axis should reach: deadlines, planned ends, limits of those on duty."""
    for call in view.situation.calls:
        if call.arrive_by is not None:
            yield call.arrive_by
    for route in view.routes.values():
        if route.home_at is not None:
            yield view.at(route.home_at)
    for vet in view.situation.vets:
        limit = view.situation.home_limit(vet.pk)
        if limit and view.situation.on_duty(vet.pk):
            yield limit.at
