"""What a farm was told, on a page of its own behind an unguessable address, with one button: I have read it.

Opening it changes nothing, so that a mail program that looks at links answers nothing. The address is
the whole right to this page, so no cookie of a sign-in plays a part and a form needs no second token:
the button works in the bare browser of a mail program too.
"""

from math import ceil
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods

from cases.models import Telling
from cases.services.acknowledging import is_overtaken, read_by_link, told_by_token
from rotas.errors import NotFound
from rotas.pages.calendar import ReadingThrottle

CLOSED = "There is nothing to read at this address any more. Ring the practice if you are in doubt."
TOO_OFTEN = "This was asked for too often from here. Try again in a minute, or ring the practice."


class ToldThrottle(ReadingThrottle):
    """So many readings, and guesses, per address."""

    scope = "told"


@csrf_exempt
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def told(request: HttpRequest, token: str) -> HttpResponse:
    """Show what was told, or take the word that it was read; a second time says the same."""
    now, throttle = timezone.now(), ToldThrottle()
    if not throttle.allow_request(request, None):
        answer = _page(request, {"refused": TOO_OFTEN}, 429)
        answer.headers["Retry-After"] = str(ceil(throttle.wait() or 60))
        return answer
    try:
        telling = read_by_link(token, now) if request.method == "POST" else told_by_token(token, now)
    except NotFound:
        return _page(request, {"refused": CLOSED}, 404)
    return _page(request, _shown(telling))


def _shown(telling: Telling) -> dict[str, Any]:
    said, _, _ = telling.message.body.partition("\nPlease say that you have read this:")
    lines = said.strip().removeprefix(telling.location.name).strip()
    parts = [part.splitlines() for part in lines.split("\n\n")]
    return {"telling": telling, "parts": parts, "overtaken": is_overtaken(telling)}


def _page(request: HttpRequest, shown: dict[str, Any], status: int = 200) -> HttpResponse:
    answer = render(request, "cases/told.html", shown, status=status)
    answer.headers["Referrer-Policy"] = "no-referrer"  # the address is the key to this page
    answer.headers["X-Robots-Tag"] = "noindex, nofollow"
    return answer
