"""The visits that rechecks need, in the book with their windows, for the planner to see."""

from datetime import datetime, time, timedelta
from typing import Any

from django.db import transaction

from cases.access import recheck_for_update, recheck_in
from cases.followups import StepRule, Unit, Who, template_for
from cases.models import BookedKind, BookedState, BookedVisit, Recheck, Visit
from cases.services.booking import cancel_booking, scheduled_complaint, write_booking
from cases.services.recheck_ends import require_open, sentence_of, tell_recheck
from rotas.access import require_role, vet_in
from rotas.errors import AlreadyDone, BadInput
from rotas.models import Member, Practice, Role, Vet

DAY_OPENS, DAY_CLOSES = time(9), time(17)  # [cp]
BEFORE_DUE, AFTER_DUE = timedelta(hours=1), timedelta(hours=3)  # window of a visit due at an hour [cp]
RECHECK_VISIT, READING = "recheck_visit", "tb_test_reading"

Window = tuple[datetime, datetime]


@transaction.atomic
def book_again(*, recheck_id: Any, actor: Member, now: datetime, vet_id: Any = None) -> Recheck:
    """Book the visit of an open recheck whose booking was cancelled; `vet_id` when only that vet may go."""
    require_role(actor, Role.RECEPTION, Role.VET)
    recheck = recheck_for_update(actor.practice, recheck_id)
    require_open(recheck)
    if recheck.who != Who.VET_VISIT.value or recheck.due_at is None:
        raise BadInput(field="recheck", problem="this is no vet's visit with a time. Write its result.")
    if recheck.booked is not None and recheck.booked.state != BookedState.CANCELLED:
        raise AlreadyDone(state=f"the visit is {recheck.booked.get_state_display()}")
    vet = None if vet_id is None else vet_in(actor.practice, vet_id)
    recheck.booked, recheck.warned_at = book(recheck, actor, now, vet), None
    recheck.save(update_fields=["booked", "warned_at"])
    said = f"{sentence_of(recheck)}: booked again"
    tell_recheck(recheck, actor, now, "recheck_booked_again", said, booking=recheck.booked.pk)
    return recheck


@transaction.atomic
def name_another_vet(*, recheck_id: Any, vet_id: Any, actor: Member, now: datetime, reason: str) -> Recheck:
    """Let another vet make a booked visit that only one may make: the old booking ends, one begins.

    A vet who is on the way is stood down first.
    """
    require_role(actor, Role.RECEPTION, Role.VET)
    seen = recheck_in(actor.practice, recheck_id)
    if vet_id is None:
        raise BadInput(field="vet", problem="name the vet who goes instead.")
    vet = vet_in(actor.practice, vet_id)
    if seen.booked is None or seen.booked.vet_id is None:
        raise BadInput(field="vet", problem="no visit is booked that only one vet may make.")
    if seen.booked.vet_id == vet.pk:
        raise BadInput(field="vet", problem=f"it is {vet.name}'s already. Name the other vet.")
    cancel_booking(booked_id=seen.booked_id, actor=actor, now=now, reason=reason)
    return book_again(recheck_id=seen.pk, actor=actor, now=now, vet_id=vet.pk)


def book(recheck: Recheck, actor: Member | None, now: datetime, vet: Vet | None = None) -> BookedVisit:
    """Put the visit of a recheck into the book; a test is read by who injected, unless another is named."""
    hard = rule_of(recheck).slack_h is not None
    kind, complaint = (BookedKind.TEST_READING, READING) if hard else (BookedKind.RECHECK, RECHECK_VISIT)
    vet = vet or (recheck.visit.vet if hard else None)  # [S26]
    note = f"{template_for(recheck.template, recheck.table_version).procedure}: {recheck.action}"
    window = window_of(recheck, now)
    return write_booking(recheck.location, kind, scheduled_complaint(complaint), window, vet, note, actor)


def rule_of(recheck: Recheck) -> StepRule:
    """Return the row of the follow-up table that the recheck came from."""
    return template_for(recheck.template, recheck.table_version).steps[recheck.step - 1]


def window_of(recheck: Recheck, now: datetime) -> Window:
    """Return when the visit of a recheck may start: its hard window, its hours, or its day."""
    assert recheck.due_at is not None
    rule = rule_of(recheck)
    if rule.slack_h is not None:
        return _hard_window(recheck.due_at, timedelta(hours=rule.slack_h), recheck.visit)
    if rule.unit is Unit.HOURS:
        start, end = recheck.due_at - BEFORE_DUE, recheck.due_at + AFTER_DUE
    else:
        start, end = _day(recheck.practice, recheck.due_at)
    return (start, end) if end > now else (now, now + AFTER_DUE)


def _hard_window(due_at: datetime, slack: timedelta, visit: Visit) -> Window:
    """Close the window for the animal injected first, while it opens for the one injected last."""
    start, end = due_at - slack, due_at + slack
    if visit.on_farm_at is None or visit.finished_at is None:
        return start, end
    tighter = end - (visit.finished_at - visit.on_farm_at)
    return (start, tighter) if tighter > start else (start, end)


def _day(practice: Practice, due_at: datetime) -> Window:
    day = practice.local(due_at).date()
    start, end = (datetime.combine(day, clock, tzinfo=practice.tz) for clock in (DAY_OPENS, DAY_CLOSES))
    return start, end
