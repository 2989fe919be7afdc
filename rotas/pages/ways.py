"""How a member is reached, written by themselves on the page of messages."""

from datetime import time
from typing import Any

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from rotas.errors import DeskError
from rotas.models import Channel, Reach
from rotas.pages.fields import text, time_of_day, whole_number
from rotas.pages.member import member_page
from rotas.pages.once import done_once
from rotas.services.reaching import add_way, end_way, ways_of

HERE = "/messages/ways/"
CHANNELS = [(each.value, each.label) for each in (Channel.TEXT, Channel.EMAIL, Channel.PUSH)]


@member_page()
@require_GET
def show(request: HttpRequest) -> HttpResponse:
    """Show my ways, and what counts while I have written none."""
    return render(request, "rotas/ways.html", _shown(request))


def _shown(request: HttpRequest) -> dict[str, Any]:
    own = Reach.objects.filter(member=request.user).standing()
    names = dict(Channel.choices)
    unsaid = [(names[way.channel], way.address) for way in ways_of(request.user, urgent=True)]
    return {"ways": own, "unsaid": unsaid, "channels": CHANNELS, "form": request.POST}


@member_page()
@require_POST
def add(request: HttpRequest) -> HttpResponse:
    """Write one more way."""
    now, form = timezone.now(), request.POST

    def make() -> tuple[str, str]:
        row = add_way(
            member=request.user,
            actor=request.user,
            now=now,
            channel=text(form, "channel", 8),
            address=text(form, "address", 254),
            from_clock=_clock(form, "from_clock"),
            until_clock=_clock(form, "until_clock"),
            order=whole_number(form, "order", otherwise=1),
        )
        return f"You are reached by {row.get_channel_display()} to {row.address}.", HERE

    try:
        return done_once(request, now, make)
    except DeskError as error:
        return render(request, "rotas/ways.html", _shown(request) | {"error": error}, status=error.status)


@member_page()
@require_POST
def end(request: HttpRequest, way_id: int) -> HttpResponse:
    """Let a way stand no longer."""
    now = timezone.now()

    def make() -> tuple[str, str]:
        row = end_way(reach_id=way_id, actor=request.user, now=now)
        return f"You are no longer reached by {row.get_channel_display()} to {row.address}.", HERE

    return done_once(request, now, make)


def _clock(form: QueryDict, field: str) -> time | None:
    return time_of_day(form, field) if form.get(field, "").strip() else None
