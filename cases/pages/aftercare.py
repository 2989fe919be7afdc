"""What the practice still owes its farms: withdrawals that run, rechecks, messages."""

from datetime import datetime, timedelta
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from cases.models import Recheck, RecheckState, Reminder, Sale
from cases.pages.told_list import to_ring, told_lately
from cases.services.held import last_of_each
from cases.services.known import other_rows
from cases.services.rechecks import record_result
from rotas.access import find
from rotas.errors import DeskError
from rotas.models import MessageState, OutboxMessage, Role
from rotas.pages.fields import text
from rotas.pages.member import member_page
from rotas.pages.once import done_once
from rotas.services.clearing import try_again

AHEAD = timedelta(days=7)
SHOWN = 100


@member_page(Role.RECEPTION, Role.VET)
@require_GET
def show(request: HttpRequest) -> HttpResponse:
    """Show what is owed, soonest first."""
    return render(request, "cases/aftercare.html", shown(request))


@member_page(Role.RECEPTION, Role.VET)
@require_GET
def live(request: HttpRequest) -> HttpResponse:
    """Show what changes, for the page that is open already."""
    return render(request, "cases/aftercare_live.html", shown(request))


def shown(request: HttpRequest) -> dict[str, Any]:
    """Return all that the page shows."""
    practice, now = request.user.practice, timezone.now()
    held = last_of_each(practice, now)
    outbox = OutboxMessage.objects.for_practice(practice)
    rechecks = Recheck.objects.for_practice(practice).select_related("location", "visit__vet__member")
    return {
        "blank": [row for row in held if row.ends_at is None][:SHOWN],
        "running": [row for row in held if row.ends_at is not None][:SHOWN],
        "others": other_rows()
        .filter(practice=practice, ends_at=None)
        .select_related("location")
        .order_by("from_at", "pk")[:SHOWN],
        "due": rechecks.filter(state=RecheckState.DUE, due_at__lt=now + AHEAD).order_by("due_at")[:SHOWN],
        "reminders": Reminder.objects.for_practice(practice)
        .filter(state="waiting")
        .select_related("location")
        .order_by("send_at")[:SHOWN],
        "rings": to_ring(practice, now),
        "told": told_lately(practice),
        "sales": Sale.objects.for_practice(practice).coming(now).order_by("leaves_at")[:SHOWN],
        "failed": outbox.failed().order_by("-not_before", "-pk")[:SHOWN],
        "mails": outbox.exclude(state=MessageState.FAILED).order_by("-not_before", "-pk")[:20],
        "may_send": request.user.holds(Role.RECEPTION),
        "now": now,
    }


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def result(request: HttpRequest, recheck_id: int) -> HttpResponse:
    """Close a recheck with what was found; a call that was only tried does not close it."""
    now = timezone.now()
    try:
        return done_once(request, now, lambda: _close(request, recheck_id, now))
    except DeskError as error:
        page = shown(request) | {"error": error, "at": recheck_id, "form": request.POST}
        return render(request, "cases/aftercare.html", page, status=error.status)


@member_page(Role.RECEPTION)
@require_POST
def send_again(request: HttpRequest, message_id: int) -> HttpResponse:
    """Let a message that could not be sent wait once more, after somebody has seen to the cause."""
    now = timezone.now()
    return done_once(request, now, lambda: _send_again(request, message_id, now))


def _send_again(request: HttpRequest, message_id: int, now: datetime) -> tuple[str, str]:
    rows = OutboxMessage.objects.all()
    message = find(rows, pk=message_id, practice=request.user.practice, what="message")
    row = try_again(message=message, actor=request.user, now=now)
    return f"It is sent once more: {row.subject}.", "/aftercare/"


def _close(request: HttpRequest, recheck_id: int, now: datetime) -> tuple[str, str]:
    said = text(request.POST, "result")
    row = record_result(recheck_id=recheck_id, actor=request.user, now=now, result=said)
    return f"Written down for {row.location}.", "/aftercare/"
