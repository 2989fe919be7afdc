"""The visits that rechecks need, in the book with their windows, for the planner to see."""

from datetime import datetime, time, timedelta

from cases.followups import Step, Unit, template_for
from cases.models import BookedKind, BookedVisit, Recheck, Visit
from cases.services.booking import scheduled_complaint, write_booking
from rotas.models import Member, Practice

DAY_OPENS, DAY_CLOSES = time(9), time(17)  # [cp]
BEFORE_DUE, AFTER_DUE = timedelta(hours=1), timedelta(hours=3)  # window of a visit due at an hour [cp]
RECHECK_VISIT, READING = "recheck_visit", "tb_test_reading"

Window = tuple[datetime, datetime]


def book(recheck: Recheck, step: Step, actor: Member | None, now: datetime) -> BookedVisit:
    """Put the visit of a step into the book; a test is read by who injected [S26]."""
    hard = step.not_before is not None
    kind, complaint = (BookedKind.TEST_READING, READING) if hard else (BookedKind.RECHECK, RECHECK_VISIT)
    vet = recheck.visit.vet if hard else None
    note = f"{step.procedure}: {step.action}"
    window = window_of(step, recheck, now)
    return write_booking(recheck.location, kind, scheduled_complaint(complaint), window, vet, note, actor)


def window_of(step: Step, recheck: Recheck, now: datetime) -> Window:
    """Return when the visit of a step may start: its hard window, its hours, or its day."""
    assert step.due_at is not None
    if step.not_before is not None and step.not_after is not None:
        return _hard_window(step.not_before, step.not_after, recheck.visit)
    rule = template_for(step.template, recheck.table_version).steps[step.number - 1]
    if rule.unit is Unit.HOURS:
        start, end = step.due_at - BEFORE_DUE, step.due_at + AFTER_DUE
    else:
        start, end = _day(recheck.practice, step.due_at)
    return (start, end) if end > now else (now, now + AFTER_DUE)


def _hard_window(start: datetime, end: datetime, visit: Visit) -> Window:
    """Close the window for the animal injected first, while it opens for the one injected last."""
    if visit.on_farm_at is None or visit.finished_at is None:
        return start, end
    tighter = end - (visit.finished_at - visit.on_farm_at)
    return (start, tighter) if tighter > start else (start, end)


def _day(practice: Practice, due_at: datetime) -> Window:
    day = practice.local(due_at).date()
    start, end = (datetime.combine(day, clock, tzinfo=practice.tz) for clock in (DAY_OPENS, DAY_CLOSES))
    return start, end
