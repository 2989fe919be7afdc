"""Taking a formulary from a file or from the starter rows: looked at first, then all of it or nothing."""

from collections.abc import Callable
from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from cases.errors import SheetRefused
from cases.medicines.merging import Change
from cases.medicines.reading import COLUMNS
from cases.medicines.starter import CAUTION, starter_rows
from cases.services import formulary_sheet
from rotas.api.parsing import storable
from rotas.errors import BadInput, DeskError
from rotas.models import Role
from rotas.pages.member import member_page
from rotas.pages.once import done_once

TEMPLATE = "cases/formulary_file.html"
MOST_SHOWN = 200  # problems; the file is mended and looked at again


@member_page(Role.MANAGER)
@require_http_methods(["GET", "POST"])
def file(request: HttpRequest) -> HttpResponse:
    """Show how a file is taken, and take one that was looked at."""
    if request.method == "GET":
        return render(request, TEMPLATE, _page(request))

    def take(now: datetime) -> Change:
        return formulary_sheet.take_sheet(actor=request.user, now=now, text=_csv(request))

    return _taken(request, take)


@member_page(Role.MANAGER)
@require_POST
def look(request: HttpRequest) -> HttpResponse:
    """Show what a file would change, or what is wrong in it. Writes nothing."""
    return _looked(
        request, lambda: formulary_sheet.look_at_sheet(actor=request.user, text=_csv(request)), "file"
    )


@member_page(Role.MANAGER)
@require_POST
def starter_look(request: HttpRequest) -> HttpResponse:
    """Show what the starter rows of the jurisdiction would change. Writes nothing."""
    return _looked(request, lambda: formulary_sheet.look_at_starter_rows(actor=request.user), "starter")


@member_page(Role.MANAGER)
@require_POST
def starter(request: HttpRequest) -> HttpResponse:
    """Take the starter rows."""

    def take(now: datetime) -> Change:
        return formulary_sheet.take_starter_rows(actor=request.user, now=now)

    return _taken(request, take)


@member_page()
@require_GET
def as_csv(request: HttpRequest) -> HttpResponse:
    """Give out the whole formulary, in the columns in which it is taken."""
    answer = HttpResponse(
        formulary_sheet.sheet_of(request.user.practice), content_type="text/csv; charset=utf-8"
    )
    answer["Content-Disposition"] = 'attachment; filename="formulary.csv"'
    return answer


def _page(request: HttpRequest, **more: Any) -> dict[str, Any]:
    practice = request.user.practice
    return {
        "columns": COLUMNS,
        "starter_count": len(starter_rows(practice.jurisdiction)),
        "jurisdiction": practice.get_jurisdiction_display(),
        "starter_caution": CAUTION,
        "csv": request.POST.get("csv", ""),
        **more,
    }


def _csv(request: HttpRequest) -> str:
    """Return the text of the file that was chosen, or what was pasted."""
    sent = request.FILES.get("file")
    if sent is None:
        return request.POST.get("csv", "")
    try:
        found = sent.read().decode("utf-8-sig")
    except UnicodeDecodeError:
        raise BadInput(field="csv", problem="this file is no UTF-8 text. Save it as CSV UTF-8.") from None
    if not storable(found):
        raise BadInput(field="csv", problem="this holds a sign that is no letter. Save it as CSV UTF-8.")
    return found


def _looked(request: HttpRequest, read: Callable[[], Change], what: str) -> HttpResponse:
    try:
        change = read()
        text = _csv_again(request)
    except DeskError as error:
        return render(request, TEMPLATE, _page(request, error=error), status=error.status)
    status = 400 if change.problems else 200
    return render(request, TEMPLATE, _page(request, **_change(change), what=what, csv=text), status=status)


def _csv_again(request: HttpRequest) -> str:
    sent = request.FILES.get("file")
    if sent is not None:
        sent.seek(0)
    return _csv(request)


def _change(change: Change) -> dict[str, Any]:
    return {
        "change": change,
        "problems": change.problems[:MOST_SHOWN],
        "more": len(change.problems) - MOST_SHOWN,
    }


def _taken(request: HttpRequest, take: Callable[[datetime], Change]) -> HttpResponse:
    now = timezone.now()
    try:
        return done_once(request, now, lambda: _said_of(take(now)))
    except SheetRefused as error:
        problems = error.facts["problems"][:MOST_SHOWN]
        return render(request, TEMPLATE, _page(request, error=error, problems=problems), status=error.status)
    except DeskError as error:
        return render(request, TEMPLATE, _page(request, error=error), status=error.status)


def _said_of(change: Change) -> tuple[str, str]:
    if change.changes_nothing:
        return "All of it stands here already; nothing was changed.", "/medicines/"
    return (
        f"Taken: {len(change.added)} medicines, {len(change.begun)} label entries begun, "
        f"{len(change.ended)} ended.",
        "/medicines/",
    )
