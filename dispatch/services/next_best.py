"""Who is asked after a no or no answer: the next best vet of the plan in force."""

import logging
from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any

from django.conf import settings
from django.db import transaction

from cases.access import call_for_update
from cases.models import Call
from dispatch.access import plan_in_force
from dispatch.inputs.names import call_name, key_of
from dispatch.models import Offer, OfferState, Plan
from dispatch.planner.plan import Verdict
from dispatch.services.judging import Judged, bench
from dispatch.services.kept_plan import KeptPlan
from dispatch.services.making import free_places, make_offer, open_offers, wants_somebody
from dispatch.situation.load import Situation
from rotas import audit
from rotas.models import AuditLine, Practice, Vet

log = logging.getLogger(__name__)

ENDED_UNHEARD = (OfferState.DECLINED, OfferState.LAPSED)
MANY = 1_000_000_000
LATE_AT_MOST_MIN = 60
"""Nobody is woken by the clock for a call they would reach later than this past its arrive-by [cp];
the next plan may still choose them, or a neighbour."""
ASKED_AHEAD = timedelta(minutes=20)
"""How long before their duty begins a vet may be asked [cp]."""


@transaction.atomic
def offer_next_best(*, practice: Practice, call_id: Any, now: datetime) -> Offer | None:
    """Offer a waiting call to the best vet of the plan who has not been asked; None when nobody can be.

    Does nothing while the place is on offer, the call is no longer waiting, or the plan is too old
    to trust: the next plan then does it.
    """
    call = call_for_update(practice, call_id)
    place = _place_to_offer(call, now)
    plan = plan_in_force(practice)
    if place is None or plan is None or not _can_be_trusted(plan, now):
        return None
    judged = _best(call, KeptPlan(plan), now)
    if judged is None:
        return None
    return make_offer(
        call=call, vet=judged.vet, place=place, why=judged.why, eta=judged.eta, plan=plan, actor=None, now=now
    )


def try_next_best(*, practice: Practice, call_id: int, now: datetime) -> Offer | None:
    """Offer on without ever standing in the way of the answer that led here.

    A defect in reading the situation must not undo a vet's "too tired": it is logged, and the next
    plan asks again.
    """
    try:
        with transaction.atomic():
            return offer_next_best(practice=practice, call_id=call_id, now=now)
    except Exception:
        log.exception("Call %s could not be offered on", call_id)
        return None


def keep_asking(*, practice: Practice, now: datetime) -> list[Offer]:
    """After a fresh plan: offer on whatever was declined or lapsed and still waits for somebody."""
    made = []
    for call_id in _left_hanging(practice):
        offer = try_next_best(practice=practice, call_id=call_id, now=now)
        if offer is not None:
            made.append(offer)
        else:
            tell_nobody_left(practice=practice, call_id=call_id, now=now)
    return made


def _left_hanging(practice: Practice) -> list[int]:
    """Return waiting calls whose newest offer was declined or lapsed, longest waiting first."""
    rows = Call.objects.for_practice(practice).wanting_a_vet()
    newest: dict[int, str] = {}
    offers = Offer.objects.filter(call__in=rows).order_by("made_at", "pk").values_list("call_id", "state")
    for call_id, state in offers:
        newest[call_id] = state
    waiting = rows.longest_waiting_first().values_list("pk", flat=True)
    return [pk for pk in waiting if newest.get(pk) in ENDED_UNHEARD]


def _place_to_offer(call: Call, now: datetime) -> int | None:
    if not wants_somebody(call, now):
        return None
    on_offer = {offer.place for offer in open_offers(call)}
    return next((place for place in free_places(call) if place not in on_offer), None)


def _can_be_trusted(plan: Plan, now: datetime) -> bool:
    """Say whether the plan is recent; a call it has never seen has no verdicts in it anyway."""
    return now - plan.made_at <= timedelta(minutes=2 * settings.PLAN_STALE_MIN)


def _best(call: Call, kept: KeptPlan, now: datetime) -> Judged | None:
    """Return the first vet, in the plan's order of preference, who can still be asked and lawfully go."""
    asked = set(call.offers.exclude(state=OfferState.WITHDRAWN).values_list("vet_id", flat=True))
    able = [
        v for v in kept.verdicts_of(call_name(call)) if _is_worth_asking(v) and key_of(v.vet) not in asked
    ]
    keys = [key_of(verdict.vet) for verdict in sorted(able, key=preference)]
    vets = _may_be_asked(call, keys, now)
    if not vets:
        return None
    seen = bench(call.practice, now)
    judged = (seen.judge(call, vets[key]) for key in keys if key in vets and _is_up(seen.situation, key))
    return next((each for each in judged if not each.refusals), None)


def _is_up(situation: Situation, vet_id: int) -> bool:
    """Say whether the vet is on duty or nearly: nobody is rung at one for a duty that begins at eight."""
    duty = situation.duty_of(vet_id)
    return duty is not None and duty.starts_at <= situation.now + ASKED_AHEAD


def _is_worth_asking(verdict: Verdict) -> bool:
    return verdict.can_go and (verdict.in_plan or (verdict.late_min or 0) <= LATE_AT_MOST_MIN)


def preference(verdict: Verdict) -> tuple[bool, int, int, int, str]:
    """Sort key: the plan's own choice, then what it would cost more, then who is there first."""
    arrive = MANY if verdict.arrive is None else verdict.arrive
    cost = MANY if verdict.change is None else verdict.change.points
    return not verdict.in_plan, cost, verdict.late_min or 0, arrive, verdict.vet


def _may_be_asked(call: Call, keys: Iterable[int], now: datetime) -> dict[int, Vet]:
    """Return those vets who are fit, hold no place on this call and have no other offer open."""
    holding = set(call.visits.standing().values_list("vet_id", flat=True))
    busy = set(Offer.objects.open().filter(vet__in=keys).values_list("vet_id", flat=True))
    rows = Vet.objects.filter(pk__in=set(keys) - holding - busy, active=True, practice=call.practice_id)
    return {vet.pk: vet for vet in rows.select_related("member", "practice") if not vet.is_stood_down(now)}


@transaction.atomic
def tell_nobody_left(*, practice: Practice, call_id: int, now: datetime) -> bool:
    """Write, once for each round of asking, that nobody is left; the desk shows it all the while."""
    call = call_for_update(practice, call_id)
    last = call.offers.order_by("-answered_at").first()
    if _place_to_offer(call, now) is None or last is None or last.answered_at is None:
        return False
    told = AuditLine.objects.filter(
        practice=practice, subject=audit.name_of(call), verb="nobody_left", at__gte=last.answered_at
    )
    if told.exists():
        return False
    audit.record(
        practice=practice,
        at=now,
        verb="nobody_left",
        subject=call,
        actor_name="clock",
        sentence=f"Nobody is left to ask who would be there in time for call {call.number}",
    )
    return True
