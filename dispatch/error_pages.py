"""What Django itself answers when no view did: a problem under ``/api/``, a page elsewhere."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from django.conf import settings
from django.core.exceptions import PermissionDenied, SuspiciousOperation
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.template.loader import render_to_string

from dispatch.problems import MEDIA_TYPE, Problem, problem_of, too_large, too_many_attempts
from rotas.pages.member import is_part, wants_json
from rotas.pages.sign_in import locked_out as locked_out_page

BAD_REQUEST = Problem(400, "bad_request", "The request cannot be read", "Check the address and the headers.")
FORBIDDEN = Problem(403, "not_allowed", "Not allowed", "You may not do this. Ask your manager.")
STALE = Problem(
    403,
    "csrf_failed",
    "This page is too old",
    "Nothing was written: you have signed in again since this page was loaded, or it was not one of ours. "
    "Load the page again and do it once more.",
)
BUSY_PAGE = "Somebody else is changing the same thing. Nothing was written: wait a moment and do it again."
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
    return _answer(request, FORBIDDEN if _is_api(request) else STALE, "403.html")


def not_found(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """Answer 404."""
    return _answer(request, NOWHERE, "404.html")


def defect(request: HttpRequest) -> HttpResponse:
    """Answer 500. The page needs nothing that may be what broke: no session, no database."""
    if _is_api(request):
        return as_response(DEFECT)
    return HttpResponse(render_to_string("500.html"), status=500)


def body_too_large(request: HttpRequest) -> HttpResponse:
    """Answer 413."""
    return _answer(request, too_large(), "404.html")


class PageProblems:
    """Middleware: what the database refused under a page is said in words too, as under the API."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        """Answer what is a refusal; a defect, and what Django has a page for, go on as they are."""
        if _is_api(request) or isinstance(error, Http404 | PermissionDenied | SuspiciousOperation):
            return None
        problem = problem_of(error)
        if problem is None:
            return None
        if problem.code == "busy":
            problem = replace(problem, detail=BUSY_PAGE)
        return _answer(request, problem, "404.html")


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
    if wants_json(request):
        return JsonResponse({"code": problem.code, "detail": problem.detail}, status=problem.status)
    if is_part(request):
        template = "problem_part.html"
    return render(request, template, {"problem": problem}, status=problem.status)


def _is_api(request: HttpRequest) -> bool:
    return request.path.startswith("/api/")
