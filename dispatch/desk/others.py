"""The smaller parts of the desk: booked visits, calls that ended, messages that reached nobody."""

from datetime import timedelta

from cases.models import Call, CallState, Ring
from dispatch.desk.axis import share
from dispatch.desk.calls import farm_words
from dispatch.desk.shapes import Axis, BookedRow, EndedRow
from dispatch.desk.view import View
from dispatch.desk.words import joined
from dispatch.inputs.names import booked_name
from dispatch.inputs.needs import complaint_name
from rotas.models import InboundMessage, OutboxMessage
from rotas.services.clearing import uncleared_words

ENDED_WITHIN = timedelta(hours=12)
MOST = 20


def booked_rows(view: View, axis: Axis) -> tuple[BookedRow, ...]:
    """Return booked visits whose window touches the axis, in order."""
    rows = []
    for booked in view.situation.booked:
        if booked.window.lower < axis.end:
            left, right = share(axis, booked.window.lower), share(axis, booked.window.upper)
            window = f"{view.clock(booked.window.lower)} to {view.clock(booked.window.upper)}"
            rows.append(
                BookedRow(
                    booked.pk,
                    complaint_name(booked),
                    booked.location.name,
                    window,
                    left,
                    round(right - left, 2),
                    _booked_plan(view, booked.pk),
                )
            )
    return tuple(rows)


def _booked_plan(view: View, pk: int) -> str:
    job = booked_name(pk)
    left = view.unassigned.get(job)
    if left is not None:
        return left.sentence
    stops = view.kept.answer.stops_of(job) if view.kept else ()
    return joined([f"{view.name_of(vet)} {view.clock(view.at(stop.arrive))}" for vet, stop in stops])


def ended_rows(view: View) -> tuple[EndedRow, ...]:
    """Return calls that ended in the last hours, newest first."""
    rows = Call.objects.for_practice(view.situation.practice).filter(closed_at__gt=view.now - ENDED_WITHIN)
    rows = rows.select_related("location").order_by("-closed_at", "-pk")[:MOST]
    return tuple(EndedRow(call.pk, call.number, _ended_words(view, call)) for call in rows)


def _ended_words(view: View, call: Call) -> str:
    state = CallState(call.state).label
    to = f" to {call.handed_over_to}" if call.state == CallState.HANDED_OVER else ""
    return f"{complaint_name(call)}, {farm_words(call)}: {state}{to} {view.clock(call.closed_at)}"


def unsent_words(view: View) -> tuple[str, ...]:
    """Return in words what reached nobody and what nobody has read; nothing is silently dropped."""
    rows = OutboxMessage.objects.for_practice(view.situation.practice).failed()
    latest = list(rows.order_by("-not_before", "-pk")[: MOST + 1])
    more = (f"{uncleared_words(rows.count())}, the latest of them these.",) if len(latest) > MOST else ()
    return (*more, *(_unsent(row) for row in latest[:MOST]), *_unread(view))


def ring_words(view: View) -> tuple[str, ...]:
    """Return in words which farms have to be rung, and by when."""
    rows = Ring.objects.for_practice(view.situation.practice).open().select_related("location")[:MOST]
    return tuple(f"Ring {row.location} by {view.clock(row.by_at)}: {row.get_why_display()}." for row in rows)


def _unsent(row: OutboxMessage) -> str:
    to = row.recipient_name or row.address
    return f"“{row.subject}” did not reach {to}: {row.last_error or 'no answer'}"


def _unread(view: View) -> tuple[str, ...]:
    count = InboundMessage.objects.for_practice(view.situation.practice).unread().count()
    if not count:
        return ()
    return ("1 reply that nobody has read." if count == 1 else f"{count} replies that nobody has read.",)
