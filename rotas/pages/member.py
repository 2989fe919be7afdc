"""Who may see a page, and how a refusal is shown on it."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from rotas.access import require_role
from rotas.errors import DeskError

View = Callable[..., HttpResponse]


def member_page(*roles: str) -> Callable[[View], View]:
    """Let members with any of the roles in (no roles: every member).

    A refusal of a service becomes a page with its sentence and its status. After a form it is
    shown where the form stood, so that nothing typed is lost: see `refused`.
    """

    def wrap(view: View) -> View:
        @login_required
        @wraps(view)
        def page(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            try:
                if roles:
                    require_role(request.user, *roles)
                return view(request, *args, **kwargs)
            except DeskError as error:
                return refused(request, error)

        return page

    return wrap


def refused(request: HttpRequest, error: DeskError) -> HttpResponse:
    """Show a refusal: inside the page for htmx, else as a page of its own."""
    template = "rotas/refused_part.html" if request.headers.get("HX-Request") else "rotas/refused.html"
    return render(request, template, {"error": error}, status=error.status)


def said(request: HttpRequest, sentence: str, to: str) -> HttpResponse:
    """Say what was done and go on (redirect after a form was taken)."""
    messages.success(request, sentence)
    return redirect(to)
