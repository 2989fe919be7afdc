"""Who may see a page, and how a refusal is shown on it."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.contrib import messages
from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render

from rotas.access import require_role
from rotas.errors import DeskError
from rotas.pages.fields import refuse_unstorable
from rotas.templatetags.forms import told

View = Callable[..., HttpResponse]


class SignedOut(DeskError):
    """A form, or a part of an open page, came from somebody whose sign-in has ended."""

    status = 401
    code = "signed_out"
    title = "You are signed out"
    message = "You are signed out, and nothing was written. Sign in again, go back, and send it once more."


def member_page(*roles: str) -> Callable[[View], View]:
    """Let members with any of the roles in (no roles: every member); send strangers to the sign-in.

    A refusal of a service becomes a page with its sentence and its status; a view that has a form
    with something typed in it shows the refusal there instead.
    """

    def wrap(view: View) -> View:
        @wraps(view)
        def page(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            if not request.user.is_authenticated:
                return _sign_in_first(request)
            try:
                if roles:
                    require_role(request.user, *roles)
                refuse_unstorable(request.GET)
                refuse_unstorable(request.POST)
                return view(request, *args, **kwargs)
            except DeskError as error:
                return refused(request, error)

        return page

    return wrap


def _sign_in_first(request: HttpRequest) -> HttpResponse:
    """Only a whole page is led to the sign-in: a part would show it inside of itself, a form be lost."""
    if request.method in ("GET", "HEAD") and not (is_part(request) or wants_json(request)):
        return redirect_to_login(request.get_full_path())
    return refused(request, SignedOut())


def is_part(request: HttpRequest) -> bool:
    """Say whether a part of an open page asks, through htmx."""
    return "HX-Request" in request.headers


def wants_json(request: HttpRequest) -> bool:
    """Say whether a script of ours asks, which keeps on the phone what was not taken."""
    return request.headers.get("Accept") == "application/json"


def refused(request: HttpRequest, error: DeskError) -> HttpResponse:
    """Show a refusal: to a script in JSON, inside the page for htmx, else as a page of its own."""
    if wants_json(request):
        return told_in_json(error)
    template = "rotas/refused_part.html" if is_part(request) else "rotas/refused.html"
    return render(request, template, {"error": error}, status=error.status)


def told_in_json(error: DeskError, **more: Any) -> JsonResponse:
    """Return a refusal as our script takes it: the sentence, and the field that it is about, if any."""
    body = {"code": error.code, "detail": told(error), "field": str(error.facts.get("field", ""))}
    return JsonResponse(body | more, status=error.status)


def said(request: HttpRequest, sentence: str, to: str) -> HttpResponse:
    """Say what was done, on the page that comes next; a script of ours is told which one that is."""
    messages.success(request, sentence)
    return JsonResponse({"address": to}) if wants_json(request) else redirect(to)
