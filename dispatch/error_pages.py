"""What Django itself answers when no view did: a problem under ``/api/``, a page elsewhere."""

from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.template.loader import render_to_string

from dispatch.problems import MEDIA_TYPE, Problem, too_many_attempts
from rotas.pages.sign_in import locked_out as locked_out_page

BAD_REQUEST = Problem(400, "bad_request", "The request cannot be read", "Check the address and the headers.")
FORBIDDEN = Problem(403, "not_allowed", "Not allowed", "You may not do this. Ask your manager.")
NOWHERE = Problem(404, "not_found", "Not found", "There is nothing at this address. Check it.")
DEFECT = Problem(
    500,
    "defect",
    "Something broke here",
    "Nothing of this request was kept. Send it once more with the same key; if it breaks again, work "
    "by telephone and tell whoever runs the system.",
)


def bad_request(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """Answer 400."""
    return _answer(request, BAD_REQUEST, "404.html")


def forbidden(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """Answer 403."""
    return _answer(request, FORBIDDEN, "403.html")


def csrf_failed(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Answer 403 to a form that did not come from one of our pages, or from a very old one."""
    return _answer(request, FORBIDDEN, "403.html")


def not_found(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """Answer 404."""
    return _answer(request, NOWHERE, "404.html")


def defect(request: HttpRequest) -> HttpResponse:
    """Answer 500. The page needs nothing that may be what broke: no session, no database."""
    if _is_api(request):
        return as_response(DEFECT)
    return HttpResponse(render_to_string("500.html"), status=500)


def locked_out(request: HttpRequest, *args: Any) -> HttpResponse:
    """Answer 429 to a name with too many wrong passwords."""
    if not _is_api(request):
        return locked_out_page(request)
    wait_s = int(settings.AXES_COOLOFF_TIME.total_seconds())
    detail = f"Too many wrong passwords for this name. Wait {wait_s // 60} minutes."
    return as_response(too_many_attempts(detail, wait_s))


def as_response(problem: Problem) -> HttpResponse:
    """Return the problem outside of DRF."""
    return JsonResponse(
        problem.body(), status=problem.status, headers=dict(problem.headers), content_type=MEDIA_TYPE
    )


def _answer(request: HttpRequest, problem: Problem, template: str) -> HttpResponse:
    if _is_api(request):
        return as_response(problem)
    return render(request, template, {"problem": problem}, status=problem.status)


def _is_api(request: HttpRequest) -> bool:
    return request.path.startswith("/api/")
