"""Booking planned work into its window, and the day's diary."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

from django.db import transaction
from psycopg.types.range import TimestamptzRange

from cases.access import booked_for_update, location_in
from cases.errors import VetOnTheWay
from cases.models import BookedKind, BookedState, BookedVisit, Location, Visit
from cases.services.said import required
from cases.triage.catalogue import Complaint, catalogue
from cases.triage.errors import UnknownComplaint
from rotas.access import require_here, require_role, vet_in
from rotas.errors import AlreadyDone, BadInput
from rotas.models import Member, Practice, Role, Vet
from rotas.services.telling import tell

LONGEST_WINDOW = timedelta(days=7)
FURTHEST = timedelta(days=400)


@transaction.atomic
def book_visit(
    *,
    practice: Practice,
    actor: Member,
    now: datetime,
    location_id: Any,
    kind: str,
    complaint: str,
    start: datetime,
    end: datetime,
    vet_id: Any = None,
    note: str = "",
) -> BookedVisit:
    """Book planned work that must start in [start, end); `vet_id` when only that vet may do it."""
    require_here(actor, practice.pk, Role.RECEPTION, Role.VET)
    location = location_in(practice, location_id)
    if kind not in BookedKind.values:
        raise BadInput(field="kind", problem=f"say one of {', '.join(BookedKind.values)}.")
    row = scheduled_complaint(complaint)
    vet = None if vet_id is None else vet_in(practice, vet_id)
    _check_window(kind, start, end, now, vet)
    booked = write_booking(location, kind, row, (start, end), vet, note.strip(), actor)
    _tell(booked, actor, now, "visit_booked", f"Booked: {_in_words(booked)}")
    return booked


def scheduled_complaint(code: str) -> Complaint:
    """Return the catalogue's row of planned work, or refuse."""
    try:
        row = catalogue()[code]
    except UnknownComplaint as error:
        raise BadInput(error.sentence, field="complaint", problem=error.sentence) from error
    if not row.scheduled:
        problem = f"{row.trade_name} is not planned work. Take it as a call."
        raise BadInput(field="complaint", problem=problem)
    return row


def _check_window(kind: str, start: datetime, end: datetime, now: datetime, vet: Vet | None) -> None:
    if end <= start:
        raise BadInput(field="end", problem="the window ends after it starts. Check both times.")
    if end <= now or start > now + FURTHEST:
        raise BadInput(field="start", problem="book a time that is still to come, within a year.")
    if end - start > LONGEST_WINDOW:
        raise BadInput(field="end", problem="a window longer than a week is no promise. Choose days.")
    if kind == BookedKind.TEST_READING and vet is None:
        raise BadInput(field="vet", problem="a test is read by the vet who injected. Name that vet.")


def write_booking(
    location: Location,
    kind: str,
    row: Complaint,
    window: tuple[datetime, datetime],
    vet: Vet | None,
    note: str,
    actor: Member | None,
) -> BookedVisit:
    """Write the row of a booking whose values have been looked at."""
    return BookedVisit.objects.create(
        practice=location.practice,
        location=location,
        kind=kind,
        complaint=row.code,
        note=note,
        window=TimestamptzRange(*window),
        minutes_median=row.minutes_on_farm_median,
        minutes_pessimistic=row.minutes_on_farm_pessimistic,
        vet=vet,
        booked_by=actor,
    )


@transaction.atomic
def cancel_booking(*, booked_id: Any, actor: Member, now: datetime, reason: str) -> BookedVisit:
    """Take a booked visit out of the book; a vet who is on it is stood down first."""
    require_role(actor, Role.RECEPTION, Role.VET)
    booked = booked_for_update(actor.practice, booked_id)
    if booked.state != BookedState.BOOKED:
        raise AlreadyDone(state=booked.get_state_display())
    visit = booked.visits.active().select_related("vet__member").first()
    if visit is not None:
        raise VetOnTheWay(vet=visit.vet.name, number=f"to {booked.location.name}")
    why = required(reason, "reason", "say why it is not wanted any more.")
    return drop_booking(booked, actor, now, why)


def drop_booking(booked: BookedVisit, actor: Member | None, now: datetime, why: str) -> BookedVisit:
    """Cancel a locked booking that no vet is on."""
    booked.state = BookedState.CANCELLED
    booked.save(update_fields=["state"])
    _tell(booked, actor, now, "booking_cancelled", f"No longer booked: {_in_words(booked)}", why)
    return booked


def _in_words(booked: BookedVisit) -> str:
    local = booked.practice.local
    window = f"{local(booked.window.lower):%a %d %b %H:%M} to {local(booked.window.upper):%a %H:%M}"
    vet = f", {booked.vet} only" if booked.vet else ""
    return f"{booked.get_kind_display()} at {booked.location.name}, {window}{vet}"


def _tell(
    booked: BookedVisit, actor: Member | None, now: datetime, verb: str, sentence: str, reason: str = ""
) -> None:
    after = {"state": booked.state, "start": booked.window.lower, "end": booked.window.upper}
    tell(
        practice=booked.practice,
        now=now,
        verb=verb,
        subject=booked,
        sentence=sentence,
        topic="booking",
        actor=actor,
        reason=reason,
        after=after | {"complaint": booked.complaint, "vet": booked.vet_id},
    )


@dataclass(frozen=True)
class DiaryEntry:
    """One line of the day: the booking, and the attendance of the vet who took it, if one has."""

    booked: BookedVisit
    visit: Visit | None


def diary(practice: Practice, day: date) -> tuple[DiaryEntry, ...]:
    """Return what is booked for a local day, cancelled work left out, in order of the window."""
    start = datetime.combine(day, time(0), tzinfo=practice.tz)
    end = datetime.combine(day + timedelta(days=1), time(0), tzinfo=practice.tz)
    rows = BookedVisit.objects.for_practice(practice).exclude(state=BookedState.CANCELLED)
    rows = rows.filter(window__overlap=TimestamptzRange(start, end)).order_by("window", "pk")
    found = list(rows.select_related("location__client", "vet__member", "practice"))
    visits = Visit.objects.for_practice(practice).standing().filter(booked__in=found)
    by_booking = {visit.booked_id: visit for visit in visits.select_related("vet__member")}
    return tuple(DiaryEntry(booked, by_booking.get(booked.pk)) for booked in found)
