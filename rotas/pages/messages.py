"""Messages that reached nobody, replies that nobody has read, and the secrets of the gateway."""

from collections.abc import Callable
from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST

from rotas.errors import DeskError
from rotas.models import DEAD, GatewayKey, InboundMessage, MessageState, OutboxMessage, Role
from rotas.pages.fields import text
from rotas.pages.member import member_page
from rotas.pages.once import done_once
from rotas.services.clearing import close_message, message_in, told_by_telephone, try_again, uncleared_words
from rotas.services.gateway_keys import end_key, make_key, secret_shown
from rotas.services.replies import mark_read, reply_in

SHOWN = 100
HERE = "/messages/"
NOT_YET = (MessageState.WAITING, MessageState.SENDING)


@member_page(Role.RECEPTION, Role.VET)
@require_GET
def show(request: HttpRequest) -> HttpResponse:
    """Show what reached nobody, what nobody has read, and what went out lately."""
    return render(request, "rotas/messages.html", _shown(request))


@member_page(Role.RECEPTION, Role.VET)
@require_GET
def live(request: HttpRequest) -> HttpResponse:
    """Show what changes, for the page that is open already."""
    return render(request, "rotas/messages_live.html", _shown(request))


def _shown(request: HttpRequest) -> dict[str, Any]:
    practice = request.user.practice
    rows = OutboxMessage.objects.for_practice(practice).select_related(
        "cleared_by", "next_way__follow_up", "instead_of"
    )
    dead = list(rows.failed().order_by("not_before", "pk")[: SHOWN + 1])
    in_charge = request.user.holds(Role.MANAGER)
    keys = GatewayKey.objects.for_practice(practice).filter(ended_at__isnull=True).order_by("pk")
    return {
        "dead": dead[:SHOWN],
        "dead_words": uncleared_words(rows.failed().count() if len(dead) > SHOWN else len(dead)),
        "unread": InboundMessage.objects.for_practice(practice).unread()[:SHOWN],
        "coming": rows.filter(state__in=NOT_YET).order_by("-urgent", "not_before", "pk")[:SHOWN],
        "past": rows.exclude(state__in=(*DEAD, *NOT_YET)).order_by("-not_before", "-pk")[:SHOWN],
        "keys": keys if in_charge else [],
        "in_charge": in_charge,
        "now": timezone.now(),
    }


def _done(
    request: HttpRequest, now: datetime, about: dict[str, Any], make: Callable[[], tuple[str, str]]
) -> HttpResponse:
    """Do it once; a refusal shows the page again, with what was typed where it was typed."""
    try:
        return done_once(request, now, make)
    except DeskError as error:
        page = _shown(request) | {"error": error, "form": request.POST, **about}
        return render(request, "rotas/messages.html", page, status=error.status)


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def again(request: HttpRequest, message_id: int) -> HttpResponse:
    """Let a message wait once more, after somebody has seen to the cause."""
    now, message = timezone.now(), message_in(request.user.practice, message_id)

    def make() -> tuple[str, str]:
        row = try_again(message=message, actor=request.user, now=now)
        return f"It is sent once more: {row.subject}.", HERE

    return _done(request, now, {"at": message_id}, make)


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def told(request: HttpRequest, message_id: int) -> HttpResponse:
    """Write down who was told by telephone."""
    now, message = timezone.now(), message_in(request.user.practice, message_id)

    def make() -> tuple[str, str]:
        row = told_by_telephone(
            message=message, actor=request.user, now=now, whom=text(request.POST, "whom", 400)
        )
        return f"Written down: {row.cleared_note} was told.", HERE

    return _done(request, now, {"at": message_id}, make)


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def close(request: HttpRequest, message_id: int) -> HttpResponse:
    """Close a message that need not be told any more."""
    now, message = timezone.now(), message_in(request.user.practice, message_id)

    def make() -> tuple[str, str]:
        row = close_message(
            message=message, actor=request.user, now=now, reason=text(request.POST, "reason", 400)
        )
        return f"Closed: {row.subject}.", HERE

    return _done(request, now, {"at": message_id}, make)


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def read(request: HttpRequest, reply_id: int) -> HttpResponse:
    """Say that a reply was read, and answer it if need be."""
    now, inbound = timezone.now(), reply_in(request.user.practice, reply_id)

    def make() -> tuple[str, str]:
        note, answer = text(request.POST, "note", 400), text(request.POST, "answer", 400)
        mark_read(inbound=inbound, actor=request.user, now=now, note=note, answer=answer)
        return "Written down as read." if not answer else "Answered, and written down as read.", HERE

    return _done(request, now, {"reply_at": reply_id}, make)


@member_page(Role.MANAGER)
@require_POST
def new_key(request: HttpRequest) -> HttpResponse:
    """Make a shared secret with the gateway."""
    now = timezone.now()

    def make() -> tuple[str, str]:
        key = make_key(actor=request.user, now=now)
        return f"Secret {key.public_id} is made.", f"/messages/secrets/{key.pk}/"

    return _done(request, now, {}, make)


@never_cache
@member_page(Role.MANAGER)
@require_GET
def key(request: HttpRequest, key_id: int) -> HttpResponse:
    """Show a secret, for the gateway's settings."""
    secret = secret_shown(key_id=key_id, actor=request.user)
    row = GatewayKey.objects.for_practice(request.user.practice).get(pk=key_id)
    return render(request, "rotas/gateway_secret.html", {"secret": secret, "key": row})


@member_page(Role.MANAGER)
@require_POST
def drop_key(request: HttpRequest, key_id: int) -> HttpResponse:
    """Let a secret sign nothing more."""
    now = timezone.now()

    def make() -> tuple[str, str]:
        row = end_key(key_id=key_id, actor=request.user, now=now)
        return f"Secret {row.public_id} signs nothing more.", HERE

    return _done(request, now, {}, make)
