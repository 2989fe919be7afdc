"""The farm's own answer page: two big buttons behind a signed address, no sign-in.

Opening it changes nothing, so that a mail program that looks at links answers nothing.
"""

from typing import Any
from uuid import uuid4

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods

from cases.models import AnswerHow, Recheck, RecheckAnswer
from cases.pages.rechecks import fine_of
from cases.services.recheck_answers import farmer_answers
from cases.services.recheck_links import opened
from rotas.errors import DeskError
from rotas.pages.fields import refuse_unstorable, text


@csrf_exempt  # no cookie gives any right here: the signed address alone does, also where cookies are off
@never_cache
@require_http_methods(["GET", "POST"])
def fine(request: HttpRequest, token: str) -> HttpResponse:
    """Ask the farm, or take its answer; sent twice it is one answer."""
    now = timezone.now()
    try:
        recheck = opened(token, now)
    except DeskError as error:
        return _page(request, {"error": error, "closed": True}, error.status)
    if request.method == "GET":
        return _page(request, _asked(recheck))
    try:
        refuse_unstorable(request.POST)
        answer = farmer_answers(
            recheck=recheck,
            fine=fine_of(request),
            words=text(request.POST, "words"),
            said_by=text(request.POST, "said_by", 120),
            at=now,
            how=AnswerHow.LINK,
            now=now,
            key=f"link:{text(request.POST, 'key', 60)}" if request.POST.get("key") else "",
        )
    except DeskError as error:
        return _page(request, _asked(recheck) | {"error": error, "form": request.POST}, error.status)
    return _page(request, {"recheck": recheck, "answer": answer})


def _asked(recheck: Recheck) -> dict[str, Any]:
    said: RecheckAnswer | None = recheck.answers.order_by("at", "pk").last()
    return {"recheck": recheck, "key": uuid4().hex, "said_before": said}


def _page(request: HttpRequest, shown: dict[str, Any], status: int = 200) -> HttpResponse:
    answer = render(request, "cases/fine.html", shown, status=status)
    answer.headers["Referrer-Policy"] = "no-referrer"  # the address is the key to this page
    answer.headers["X-Robots-Tag"] = "noindex"
    return answer
