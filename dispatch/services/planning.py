"""Planning a practice: asked for by every event that matters, answered by a worker, one at a time."""

import logging
from datetime import datetime, timedelta

from django.conf import settings
from django.db import transaction
from django.db.models import Exists, OuterRef, Q

from cases.models import Call
from dispatch.models import Plan, PlanTurn
from dispatch.plan_json import to_json
from dispatch.services import turn
from dispatch.services.inputs import Inputs, inputs_of
from dispatch.services.next_best import keep_asking
from dispatch.services.solving import Answer, solve
from dispatch.situation.load import Situation, situation_of
from dispatch.travel_provider import provider
from rotas import audit, events
from rotas.models import Practice

log = logging.getLogger(__name__)


def ask_for_plan(practice_id: int, because: str, *, now: datetime) -> PlanTurn:
    """Ask for a plan that sees everything committed until now. Returns at once."""
    return turn.raise_asked(practice_id, because, now)


def plan_practice(practice_id: int, now: datetime) -> Plan | None:
    """Answer what is asked of the planner; None when nothing is, or another worker is at it.

    Never waits for a lock. What is asked while the solver runs is answered by a further turn.
    """
    with turn.turn_to_plan(practice_id) as mine:
        plan = _answer(practice_id, now) if mine else None
    if mine and turn.asked_up_to(practice_id) is not None:
        turn.send_to_worker(practice_id)
    return plan


def _answer(practice_id: int, now: datetime) -> Plan | None:
    seen = turn.asked_up_to(practice_id)
    if seen is None:
        return None
    practice = Practice.objects.get(pk=practice_id)
    try:
        situation = read_at_one_moment(practice, now)
        inputs = inputs_of(situation, provider(practice))
        answer = solve(inputs.problem)
        plan = _save(practice, inputs, answer, seen, now)
    except Exception as error:
        log.exception("Practice %s could not be planned", practice_id)
        _give_up(practice, seen, f"{type(error).__name__}: {error}", now)
        return None
    if plan is not None:
        keep_asking(practice=practice, now=now)
    return plan


def read_at_one_moment(practice: Practice, now: datetime) -> Situation:
    """Read all rows as they stand at one instant, so that no half of a change is planned with."""
    if transaction.get_connection().in_atomic_block:
        return situation_of(practice, now)
    with transaction.atomic():
        with transaction.get_connection().cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
        return situation_of(practice, now)


@transaction.atomic
def _save(practice: Practice, inputs: Inputs, answer: Answer, seen: int, now: datetime) -> Plan | None:
    """Keep the plan with everything it was made from, unless a later one is already kept."""
    because = PlanTurn.objects.get(practice=practice).because
    if not turn.mark_answered(practice.pk, seen):
        return None
    plan = Plan.objects.create(
        practice=practice,
        made_at=now,
        because=because,
        status=answer.plan.status,
        sentence=answer.plan.sentence,
        inputs=to_json(inputs.problem),
        answer=to_json(answer.plan),
        solve_seconds=answer.plan.solve_seconds,
        travel_label=inputs.travel_label[:160],
    )
    if answer.broken:
        _tell_broken(plan, answer.broken, now)
    _tell(plan, len(inputs.problem.jobs), len(inputs.problem.vets), now)
    return plan


def _tell(plan: Plan, jobs: int, vets: int, now: datetime) -> None:
    audit.record(
        practice=plan.practice,
        at=now,
        verb="plan_made",
        subject=plan,
        actor_name="planner",
        sentence=f"Planned {jobs} jobs and {vets} vets: {plan.sentence}",
        reason=plan.because,
        after={"status": plan.status, "solve_seconds": round(plan.solve_seconds, 3)},
    )
    events.announce(plan.practice_id, "plan", plan.sentence)


def _tell_broken(plan: Plan, broken: tuple[str, ...], now: datetime) -> None:
    """Keep what the checker found in the solver's plan, which was not used."""
    failure = "The solver's plan broke a rule and was not used: " + "; ".join(broken)
    PlanTurn.objects.filter(practice=plan.practice_id).update(failed_at=now, failure=failure)
    audit.record(
        practice=plan.practice,
        at=now,
        verb="plan_refused",
        subject=plan,
        actor_name="checker",
        sentence="The solver's plan broke a rule; the quick plan is used instead.",
        reason=failure,
        after={"broken": list(broken)},
    )


@transaction.atomic
def _give_up(practice: Practice, seen: int, failure: str, now: datetime) -> None:
    turn.mark_failed(practice.pk, seen, failure, now)
    audit.record(
        practice=practice,
        at=now,
        verb="plan_failed",
        subject=practice,
        actor_name="planner",
        sentence="No plan could be made; the last one stands.",
        reason=failure,
    )
    events.announce(practice.pk, "plan", "no plan could be made")


def plans_owed(now: datetime) -> list[int]:
    """Return practices whose plan is owed and whose message or worker seems lost."""
    lost = turn.owed().filter(asked_at__lte=now - turn.OVERDUE)
    return list(lost.values_list("practice_id", flat=True))


def ask_where_time_has_passed(now: datetime) -> list[int]:
    """Ask for a plan wherever calls are open and the plan has grown old: time is an event too."""
    fresh = Plan.objects.filter(
        practice=OuterRef("pk"), made_at__gt=now - timedelta(minutes=settings.PLAN_STALE_MIN)
    )
    open_calls = Call.objects.open().filter(practice=OuterRef("pk"))
    tried = Q(plan_turn__failed_at__gt=now - timedelta(minutes=settings.PLAN_STALE_MIN))
    stale = Practice.objects.filter(Exists(open_calls), ~Exists(fresh)).exclude(tried)
    practices = list(stale.exclude(pk__in=turn.owed().values("practice")).values_list("pk", flat=True))
    for practice_id in practices:
        ask_for_plan(practice_id, f"{settings.PLAN_STALE_MIN} min have passed", now=now)
    return practices
