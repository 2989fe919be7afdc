"""The rota in a calendar program: addresses are made here, and read by programs without a sign-in."""

from datetime import datetime
from hashlib import sha256
from math import ceil
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe
from redis.exceptions import RedisError
from rest_framework.throttling import SimpleRateThrottle

from rotas.access import vet_in
from rotas.errors import DeskError, NotFound
from rotas.models import Role, Vet
from rotas.pages.fields import row_key, text
from rotas.pages.member import member_page
from rotas.pages.once import done_once, taken_once
from rotas.services.calendars import calendars_of, make_calendar, own_vet, read_calendar, revoke_calendar

CALENDAR = "text/calendar; charset=utf-8"
PLAIN = "text/plain; charset=utf-8"
NOTHING = "There is no calendar at this address. It may have been revoked: make a new one on the rota page.\n"
TOO_OFTEN = "This was asked for too often from here. Ask again in a minute.\n"
EVERYONE = "everyone"


class ReadingThrottle(SimpleRateThrottle):
    """So many readings, and guesses, per address. Without the cache it lets pass: a secret has 256 bits."""

    scope = "calendar"

    def get_cache_key(self, request: HttpRequest, view: Any) -> str:
        """Count by address only."""
        return str(self.cache_format % {"scope": self.scope, "ident": self.get_ident(request)})

    def allow_request(self, request: HttpRequest, view: Any) -> bool:
        """Say whether this address may read again now."""
        try:
            return bool(super().allow_request(request, view))
        except (RedisError, OSError):
            return True


@require_safe
def read(request: HttpRequest, secret: str) -> HttpResponse:
    """Give the calendar to whoever holds its address; 304 where the program has it already."""
    throttle = ReadingThrottle()
    if not throttle.allow_request(request, None):
        wait = ceil(throttle.wait() or 60)
        return _private(HttpResponse(TOO_OFTEN, PLAIN, status=429, headers={"Retry-After": str(wait)}))
    try:
        octets = read_calendar(secret, now=timezone.now())
    except NotFound:
        return _private(HttpResponse(NOTHING, PLAIN, status=404))
    etag = f'"{sha256(octets).hexdigest()[:32]}"'
    full = HttpResponse(octets, CALENDAR, headers={"ETag": etag})
    full["Content-Disposition"] = 'inline; filename="rota.ics"'
    return _private(get_conditional_response(request, etag=etag, response=full) or full)


def _private(response: HttpResponse) -> HttpResponse:
    response["Cache-Control"] = "private, no-cache"
    response["X-Robots-Tag"] = "noindex"
    response["Referrer-Policy"] = "no-referrer"
    return response


@never_cache
@member_page(Role.RECEPTION, Role.VET, Role.MANAGER)
@require_http_methods(["GET", "POST"])
def show(request: HttpRequest) -> HttpResponse:
    """Show the addresses that are open, and make another one."""
    now = timezone.now()
    if request.method == "GET":
        return render(request, "rotas/calendar.html", _shown(request))
    made: list[str] = []
    try:
        sentence = taken_once(request, now, lambda: _make(request, now, made))
    except DeskError as error:
        return render(request, "rotas/calendar.html", _shown(request) | {"error": error}, status=error.status)
    address = request.build_absolute_uri(f"/calendar/{made[0]}.ics") if made else ""
    told = {"sentence": sentence, "address": address, "subscribe": f"webcal:{address.partition(':')[2]}"}
    return render(request, "rotas/calendar.html", _shown(request) | {"made": told})


def _make(request: HttpRequest, now: datetime, made: list[str]) -> str:
    """Make it; the secret goes to the page by `made` alone, so that no kept answer holds it."""
    feed, secret = make_calendar(
        practice=request.user.practice,
        vet=_whose(request),
        actor=request.user,
        now=now,
        used_for=text(request.POST, "used_for", 60),
    )
    made.append(secret)
    return f"An address for {feed} is open."


def _whose(request: HttpRequest) -> Vet | None:
    if request.POST.get("whose", EVERYONE) == EVERYONE:
        return None
    return vet_in(request.user.practice, row_key(request.POST, "whose"))


def _shown(request: HttpRequest) -> dict[str, Any]:
    own = own_vet(request.user)
    choices = [(str(own.pk), "my own duties")] if own else []
    choices.append((EVERYONE, "everyone's duties"))
    if request.user.holds(Role.MANAGER):
        vets = Vet.objects.for_practice(request.user.practice).filter(active=True).select_related("member")
        choices += [(str(vet.pk), f"{vet}'s duties") for vet in vets.order_by("code") if vet != own]
    return {"choices": choices, "feeds": calendars_of(request.user), "form": request.POST}


@member_page(Role.RECEPTION, Role.VET, Role.MANAGER)
@require_POST
def revoke(request: HttpRequest, feed_id: int) -> HttpResponse:
    """Close an address."""
    now = timezone.now()
    return done_once(request, now, lambda: _revoke(request, feed_id, now))


def _revoke(request: HttpRequest, feed_id: int, now: datetime) -> tuple[str, str]:
    feed = revoke_calendar(feed_id=feed_id, actor=request.user, now=now)
    return f"The address for {feed} is closed. Programs that read it find nothing there.", "/rota/calendar/"
