"""Sales and collections to come: entered here, warned of where something is still held."""

from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from cases.access import location_in
from cases.models import Animal, FarmContact, Group, Location, MilkCollection, Sale, SaleKind, ToldBy
from cases.services import sales
from cases.services.told_by import set_told, words_of
from rotas.access import find
from rotas.errors import DeskError
from rotas.lines import usable
from rotas.models import Channel, Role
from rotas.pages.fields import local_time, row_key, text, time_of_day
from rotas.pages.member import member_page
from rotas.pages.once import done_once

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
SHOWN = 200
TOLD = "/sales/told/"


@member_page(Role.RECEPTION, Role.VET)
@require_http_methods(["GET", "POST"])
def show(request: HttpRequest) -> HttpResponse:
    """Show what is to leave; enter a sale."""
    if request.method == "GET":
        return render(request, "cases/sales.html", _shown(request))
    return _step(request, lambda now: _enter(request, now))


def _enter(request: HttpRequest, now: datetime) -> tuple[str, str]:
    form, practice = request.POST, request.user.practice
    entered = sales.enter_sale(
        location_id=row_key(form, "farm"),
        actor=request.user,
        now=now,
        leaves_at=local_time(form, "leaves_at", practice.tz),
        kind=text(form, "kind", 10) or SaleKind.SLAUGHTER,
        animal_ids=_chosen(form.getlist("animal")),
        group_ids=_chosen(form.getlist("group")),
        note=text(form, "note", 200),
    )
    address = f"/sales/?farm={entered.sale.location_id}"
    if not entered.held:
        return f"Entered: {entered.sale}. Nothing of it is held then, as far as our records go.", address
    names = "; ".join(f"{answer.subject}: {answer.because[0]}" for answer in entered.held)
    return f"Entered, but held then and not to leave: {names} The farm is told in writing.", address


def _chosen(values: list[str]) -> list[int]:
    """Return the keys of the boxes that were ticked."""
    return [int(key) for key in values if key.isascii() and key.isdecimal() and len(key) <= 18]


def _shown(request: HttpRequest) -> dict[str, Any]:
    practice, now = request.user.practice, timezone.now()
    farms = Location.objects.for_practice(practice).order_by("name")
    chosen = request.POST.get("farm") or request.GET.get("farm") or ""
    farm = find(farms, pk=chosen, practice=practice, what="farm") if _chosen([chosen]) else None
    coming = Sale.objects.for_practice(practice).coming(now).select_related("location").order_by("leaves_at")
    return {
        "farms": farms,
        "farm": farm,
        "kinds": SaleKind.choices,
        "coming": coming.prefetch_related("lots__animal", "lots__group")[:SHOWN],
        "days": _days(request),
        "form": {} if request.path == TOLD else request.POST,
        "ticked_animals": _chosen(request.POST.getlist("animal")),
        "ticked_groups": _chosen(request.POST.getlist("group")),
        "now": now,
        **(_of_farm(farm) | _told(request, farm) if farm else {}),
    }


def _days(request: HttpRequest) -> list[tuple[int, str, bool]]:
    """Return the days of the week and whether each is ticked: as it was sent, or all of them."""
    sent = (
        request.POST.getlist("day")
        if request.path == "/sales/collections/"
        else [str(day) for day in range(7)]
    )
    return [(number, word, str(number) in sent) for number, word in enumerate(DAYS)]


def _of_farm(farm: Location) -> dict[str, Any]:
    collections = MilkCollection.objects.filter(location=farm, ended_at=None).order_by("at")
    return {
        "animals": Animal.objects.filter(location=farm, ended_at=None).order_by("farm_number", "tag")[:SHOWN],
        "groups": Group.objects.filter(location=farm, ended_at=None).order_by("name")[:SHOWN],
        "collections": [(row, ", ".join(DAYS[day] for day in row.weekdays)) for row in collections],
        "contacts": FarmContact.objects.filter(location=farm, ended_at=None).order_by("name"),
    }


def _told(request: HttpRequest, farm: Location) -> dict[str, Any]:
    """Return how the farm's client is told: as it was sent, or as it stands."""
    client = farm.client
    number = client.text_number.as_international if client.text_number else ""
    stands = {"told_by": client.told_by, "email": client.email, "text_number": number}
    return {
        "wishes": [("", "whatever reaches them, e-mail first"), *ToldBy.choices],
        "told": request.POST if request.path == TOLD else stands,
        "told_words": words_of(client),
        "no_texts": Channel.TEXT not in usable(request.user.practice),
    }


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def told(request: HttpRequest) -> HttpResponse:
    """Write how a farm's client is told."""
    return _step(request, lambda now: _set_told(request, now))


def _set_told(request: HttpRequest, now: datetime) -> tuple[str, str]:
    form = request.POST
    farm = location_in(request.user.practice, row_key(form, "farm"))
    client = set_told(
        client_id=farm.client_id,
        actor=request.user,
        now=now,
        told_by=text(form, "told_by", 8),
        email=text(form, "email", 254),
        text_number=text(form, "text_number", 40),
    )
    return f"{client} is told by {words_of(client)}.", f"/sales/?farm={farm.pk}"


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def call_off(request: HttpRequest, sale_id: int) -> HttpResponse:
    """Call a sale off."""
    return _step(request, lambda now: _call_off(request, sale_id, now))


def _call_off(request: HttpRequest, sale_id: int, now: datetime) -> tuple[str, str]:
    reason = text(request.POST, "reason", 200)
    sale = sales.call_off_sale(sale_id=sale_id, actor=request.user, now=now, reason=reason)
    return f"Called off: {sale}.", "/sales/"


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def collection(request: HttpRequest) -> HttpResponse:
    """Write when a farm's milk is collected."""
    return _step(request, lambda now: _collection(request, now))


def _collection(request: HttpRequest, now: datetime) -> tuple[str, str]:
    form = request.POST
    row = sales.set_collection(
        location_id=row_key(form, "farm"),
        actor=request.user,
        now=now,
        weekdays=[int(day) for day in form.getlist("day") if day in {*"0123456"}],
        at=time_of_day(form, "at"),
    )
    return f"Written: {row}.", f"/sales/?farm={row.location_id}"


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def end_collection(request: HttpRequest, collection_id: int) -> HttpResponse:
    """Say that milk is not collected then any more."""
    return _step(request, lambda now: _end_collection(request, collection_id, now))


def _end_collection(request: HttpRequest, collection_id: int, now: datetime) -> tuple[str, str]:
    row = sales.end_collection(collection_id=collection_id, actor=request.user, now=now)
    return f"No more: {row}.", f"/sales/?farm={row.location_id}"


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def contact(request: HttpRequest) -> HttpResponse:
    """Write who else is told about milk."""
    return _step(request, lambda now: _contact(request, now))


def _contact(request: HttpRequest, now: datetime) -> tuple[str, str]:
    form = request.POST
    row = sales.add_contact(
        location_id=row_key(form, "farm"),
        actor=request.user,
        now=now,
        name=text(form, "name", 120),
        part=text(form, "part", 8) or "milks",
        email=text(form, "email", 200),
        number=text(form, "number", 40),
    )
    return f"{row} is told about milk from now on.", f"/sales/?farm={row.location_id}"


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def end_contact(request: HttpRequest, contact_id: int) -> HttpResponse:
    """Say that somebody is told no more."""
    return _step(request, lambda now: _end_contact(request, contact_id, now))


def _end_contact(request: HttpRequest, contact_id: int, now: datetime) -> tuple[str, str]:
    row = sales.end_contact(contact_id=contact_id, actor=request.user, now=now)
    return f"{row} is told no more.", f"/sales/?farm={row.location_id}"


def _step(request: HttpRequest, do: Any) -> HttpResponse:
    now = timezone.now()
    try:
        return done_once(request, now, lambda: do(now))
    except DeskError as error:
        page = _shown(request) | {"error": error}
        return render(request, "cases/sales.html", page, status=error.status)
