"""Rest: what bounds a vet tonight, limits knowingly passed, and the rest that is owed for it."""

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from math import ceil
from typing import Any

from django.db import transaction

from rotas import audit, events
from rotas.access import find, require_here, require_role
from rotas.errors import AlreadyDone, BadInput, FromTheFuture
from rotas.models import Member, Practice, RestException, RestOwed, Role, Shift, ShiftRole, Vet
from rotas.rest.intervals import WORKED, DutyKind, of_kinds
from rotas.rest.limits import Limit, VetLimits, vet_limits
from rotas.rest.owed import owed_for_passing
from rotas.rest.rules import Measure, Reading, all_rules, rule_named
from rotas.services.worked import Duties, duties_of, rules_of

LOOK_BACK, LOOK_AHEAD = timedelta(days=8), timedelta(days=8)  # a week of rest rules, either side
STAND_DOWN = timedelta(hours=8)  # eight hours of rest in each 24 on call [S40]
CLOCKS_MAY_DIFFER = timedelta(minutes=2)


def vet_rest(vet: Vet, now: datetime) -> VetLimits:
    """Return what bounds one vet from now on: the latest to be home by, with the rule and the reason."""
    return vets_rest([vet], now)[vet.pk]


def vets_rest(
    vets: Iterable[Vet], now: datetime, *, coming_on: Mapping[int, datetime] | None = None
) -> dict[int, VetLimits]:
    """Return the same for many vets of any practice, by the vet's key, in three queries.

    `coming_on` names the start of duty of vets who are not on yet: what bounds them is worked out
    from that moment, as if nothing were worked before it.
    """
    rows = list(vets)
    starts = coming_on or {}
    duties = duties_of(rows, now - LOOK_BACK, now + LOOK_AHEAD)
    practices = Practice.objects.in_bulk({vet.practice_id for vet in rows})
    return {
        vet.pk: _limits(practices[vet.practice_id], duties[vet.pk], starts.get(vet.pk, now)) for vet in rows
    }


def _limits(practice: Practice, duties: Duties, now: datetime) -> VetLimits:
    begun = tuple(duty for duty in duties if duty.start <= now)
    return vet_limits(
        begun,
        rules_of(practice),
        practice.tz,
        Reading(practice.daily_rest_reading),
        now=now,
        shift_end=_off_duty_at(duties, now),
        planned=tuple(duty for duty in duties if duty.start > now),
    )


def _off_duty_at(duties: Duties, now: datetime) -> datetime | None:
    """Return the end of the present shift, of the shifts that follow without a break too; None off duty."""
    shifts = of_kinds(duties, (DutyKind.WORK, DutyKind.WORKPLACE, DutyKind.AT_HOME))
    return next((span.end for span in shifts if span.start <= now < span.end), None)


def stand_down_end(vet: Vet, now: datetime) -> datetime:
    """Return when a vet who is too tired now may be sent again.

    Eight hours from now, or daily rest after the last work, whichever is later.
    """
    duties = duties_of([vet], now - timedelta(days=1), now + timedelta(minutes=1))[vet.pk]
    worked = [min(span.end, now) for span in of_kinds(duties, WORKED) if span.start < now]
    daily = rules_of(vet.practice).one(Measure.DAILY_REST)
    rested = max(worked) + daily.amount if worked and daily else now
    return max(now + STAND_DOWN, rested)


@transaction.atomic
def sign_exception(
    *,
    vet: Vet,
    rule: str,
    limit_at: datetime,
    passed_by_min: int,
    reason: str,
    subject: str,
    approved_by: Member,
    now: datetime,
) -> RestException:
    """Let a manager pass a rest limit by name, and write the rest that is owed for it.

    `rule` is the rule's id (``SHIFT_END`` for the end of the shift), `subject` what it is for, such
    as ``call:41``. Rest of the same length is owed from the end of the job.
    """
    require_here(approved_by, vet.practice_id, Role.MANAGER)
    why = reason.strip()
    if not why:
        raise BadInput(field="reason", problem="say why the animal cannot wait for a rested vet.")
    if passed_by_min <= 0:
        raise BadInput(field="passed_by_min", problem="no limit is passed, so there is nothing to sign.")
    exception = RestException.objects.create(
        practice=vet.practice,
        vet=vet,
        approved_by=approved_by,
        approved_at=now,
        rule=rule,
        limit_at=limit_at,
        passed_by_min=passed_by_min,
        reason=why,
        subject=subject,
    )
    owed = _write_owed(exception)
    _tell_signed(exception, owed, now)
    return exception


def _write_owed(exception: RestException) -> RestOwed | None:
    vet = exception.vet
    home_at = exception.limit_at + timedelta(minutes=exception.passed_by_min)
    limit = Limit(exception.limit_at, all_rules().get(exception.rule), exception.rule)
    found = owed_for_passing(
        limit, home_at, rules_of(vet.practice), vet.practice.tz, next_duty_start=_next_duty(vet, home_at)
    )
    if found is None:
        return None
    return RestOwed.objects.create(
        practice=vet.practice,
        vet=vet,
        exception=exception,
        minutes=ceil(found.amount / timedelta(minutes=1)),
        because=found.sentence,
        owed_from=found.owed_from,
        due_by=found.expires_at,
    )


def _next_duty(vet: Vet, after: datetime) -> datetime | None:
    """Return the start of the next day at work; standing by at home is no duty that rest comes before."""
    shifts = Shift.objects.within(after, after + LOOK_AHEAD).filter(vet=vet).in_order()
    starts = (
        shift.starts_at
        for shift in shifts
        if shift.starts_at >= after and (shift.role == ShiftRole.DAY or shift.at_workplace)
    )
    return next(starts, None)


def _tell_signed(exception: RestException, owed: RestOwed | None, now: datetime) -> None:
    vet, practice = exception.vet, exception.practice
    limit = f"{rule_named(exception.rule)}, {practice.local(exception.limit_at):%a %H:%M}"
    sentence = (
        f"{exception.approved_by} let {vet} pass a limit by {exception.passed_by_min} min "
        f"({limit}) for {exception.subject}"
    )
    audit.record(
        practice=practice,
        at=now,
        verb="rest_limit_passed",
        subject=exception,
        sentence=sentence,
        actor=exception.approved_by,
        reason=exception.reason,
        after={"vet": vet.pk, "subject": exception.subject, "owed_min": owed.minutes if owed else 0},
    )
    events.announce(practice.pk, "vet", sentence)


@transaction.atomic
def take_owed_rest(
    *, owed_id: Any, actor: Member, now: datetime, taken_at: datetime | None = None
) -> RestOwed:
    """Write that owed rest has been given. Only a manager may, and only once."""
    require_role(actor, Role.MANAGER)
    rows = RestOwed.objects.select_for_update(of=("self",)).select_related("vet__member", "practice")
    owed = find(rows, pk=owed_id, practice=actor.practice, what="rest owed")
    if owed.taken_at is not None:
        raise AlreadyDone(state="taken")
    taken_at = taken_at or now
    if taken_at > now + CLOCKS_MAY_DIFFER:
        raise FromTheFuture(field="taken_at")
    owed.taken_at, owed.taken_recorded_by = taken_at, actor
    owed.save(update_fields=["taken_at", "taken_recorded_by"])
    sentence = f"{owed.vet} has had the {owed.minutes} min of rest that were owed"
    audit.record(
        practice=owed.practice,
        at=now,
        verb="owed_rest_taken",
        subject=owed,
        sentence=sentence,
        actor=actor,
        after={"taken_at": taken_at},
    )
    events.announce(owed.practice_id, "vet", sentence)
    return owed
