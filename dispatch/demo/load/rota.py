"""The rota around the evening, what was worked before it, and the book of the next days."""

from contextlib import suppress
from datetime import datetime
from decimal import Decimal

from psycopg.types.range import TimestamptzRange

from cases.models import BookedState, BookedVisit
from cases.services.booking import book_visit
from dispatch.demo.load.cast import Cast
from dispatch.demo.load.clock import EveningClock
from dispatch.demo.scenario import kinds
from rotas.errors import AlreadyOnDuty
from rotas.models import Shift
from rotas.services.cover import start_with_common_cover
from rotas.services.duty import record_duty
from rotas.services.rota import add_shift
from rotas.services.vets import report_self


def write_rota(cast: Cast, clock: EveningClock, since: datetime) -> None:
    """Put every duty of the script on the rota; where another is already there, that one stays.

    Duties of the days before end where the evening begins. Those under way at `since` begin then
    where the vet had another duty before: that is another evening's.
    """
    for shift in cast.demo.shifts:
        start, end = clock.on_rota(shift.start_min), clock.on_rota(shift.end_min)
        if shift.start_min < 0:
            end = min(end, clock.rota_began)
        if start < since < end and not _is_free(cast, shift, start, since):
            start = since
        if start < end:
            with suppress(AlreadyOnDuty):
                _add(cast, clock, shift, start, end)


def _is_free(cast: Cast, shift: kinds.DemoShift, start: datetime, end: datetime) -> bool:
    return not Shift.objects.within(start, end).filter(vet=cast.vets[shift.vet]).exists()


def _add(cast: Cast, clock: EveningClock, shift: kinds.DemoShift, start: datetime, end: datetime) -> None:
    add_shift(
        practice=cast.practice,
        vet=cast.vets[shift.vet],
        role=shift.role,
        start=start,
        end=end,
        actor=cast.manager,
        now=clock.rota_began,
    )


def write_worked(cast: Cast, clock: EveningClock) -> None:
    """Write what was worked on the nights before, from which rest and the report are reckoned."""
    for worked in cast.demo.worked:
        start, end = clock.on_rota(worked.start_min), clock.on_rota(worked.end_min)
        if end > clock.rota_began:
            continue
        record_duty(
            vet=cast.vets[worked.vet],
            kind=worked.kind,
            start=start,
            end=end,
            source=f"demo:{start:%Y%m%dT%H%M}",
            now=clock.rota_began,
            actor=None,
            drive_km=None if worked.drive_km is None else Decimal(worked.drive_km),
        )


def write_cover(cast: Cast, clock: EveningClock) -> None:
    """Say what cover the practice needs, where nobody has said it yet, so that a rota can be drafted."""
    start_with_common_cover(practice=cast.practice, actor=cast.manager, now=clock.rota_began)


def write_said(cast: Cast, clock: EveningClock) -> None:
    """Write what vets said of themselves on the days before, but nothing older than their last word."""
    for said in sorted(cast.demo.said, key=lambda each: each.at_min):
        at, vet = clock.on_rota(said.at_min), cast.vets[said.vet]
        if at < clock.rota_began and (vet.self_reported_at is None or vet.self_reported_at < at):
            slept = None if said.hours_slept is None else Decimal(said.hours_slept)
            report_self(vet=vet, state=said.word, actor=vet.member, now=at, hours_slept=slept)
            vet.refresh_from_db(fields=["self_report", "self_reported_at"])


def write_bookings(cast: Cast, clock: EveningClock) -> None:
    """Book the planned work of the next days, unless it is in the book already."""
    for booking in cast.demo.bookings:
        start, end = clock.on_rota(booking.start_min), clock.on_rota(booking.end_min)
        if not _is_booked(cast, booking, start):
            book_visit(
                practice=cast.practice,
                actor=cast.members[cast.demo.booked_by],
                now=clock.rota_began,
                location_id=cast.farms[booking.location].pk,
                kind=booking.kind,
                complaint=booking.complaint,
                start=start,
                end=end,
                vet_id=cast.vets[booking.vet].pk if booking.vet else None,
                note=booking.note,
            )


def _is_booked(cast: Cast, booking: kinds.DemoBooking, start: datetime) -> bool:
    rows = BookedVisit.objects.for_practice(cast.practice).filter(state=BookedState.BOOKED)
    ahead = TimestamptzRange(start, None)
    place = cast.farms[booking.location]
    return rows.filter(location=place, complaint=booking.complaint, window__overlap=ahead).exists()
