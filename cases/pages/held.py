"""What is held at one farm, on one time axis with its reasons; and what people write down of its herd."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import Any

from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from cases.access import location_in, other_hold_in
from cases.models import (
    Animal,
    Calving,
    Commodity,
    EndKind,
    EndRoute,
    Group,
    HoldCause,
    Location,
    MilkingSystem,
    OtherHold,
    ResidueResult,
)
from cases.pages.held_words import out_until
from cases.services.calving import record_calving
from cases.services.held_here import held_at
from cases.services.herd_facts import is_identified
from cases.services.known import LOOKED_BACK
from cases.services.leaving import Left, animal_left, group_left
from cases.services.milking import change_milking
from cases.services.other_holds import set_hold_end
from cases.services.pens import move_animals
from cases.services.residue import record_residue_test
from cases.services.selling import Sale
from cases.triage.vocabulary import SPECIES
from rotas.errors import BadInput, DeskError
from rotas.models import Role
from rotas.pages.days import Axis
from rotas.pages.fields import local_time, row_key, text, ticked
from rotas.pages.member import member_page
from rotas.pages.once import done_once

AHEAD = timedelta(days=28)
SHOWN = 500
Write = Callable[[HttpRequest, Location, datetime], str]


@dataclass(frozen=True)
class Line:
    """One answer on the axis: a bar from now to the date, or to the edge where there is none."""

    sale: Sale
    width: float
    end: float
    beyond: bool


@dataclass(frozen=True)
class Row:
    """One animal or pen with its lines."""

    name: str
    is_group: bool
    lines: list[Line]


@dataclass(frozen=True)
class Pen:
    """One pen, how many of those in it are on record by their tags, and whether that is all of them."""

    row: Group
    known: int
    identified: bool


@member_page(Role.RECEPTION, Role.VET)
@require_GET
def show(request: HttpRequest, location_id: int) -> HttpResponse:
    """Show what is held at the farm."""
    return render(request, "cases/held.html", _shown(request, farm_of(request, location_id)))


def farm_of(request: HttpRequest, location_id: int) -> Location:
    """Return the farm of the address."""
    return location_in(request.user.practice, location_id)


def _shown(request: HttpRequest, location: Location) -> dict[str, Any]:
    practice, now = request.user.practice, timezone.now()
    axis = Axis(practice, practice.local(now).date(), practice.local(now + AHEAD).date())
    animals = Animal.objects.filter(location=location, ended_at=None).order_by("farm_number", "tag")
    return {
        "location": location,
        "rows": [
            Row(str(each.subject), each.is_group, [_line(axis, sale, now) for sale in each.sales])
            for each in held_at(location, now)
        ],
        "ticks": axis.ticks(7),
        "now_at": axis.share(now),
        "others": _others(location),
        "animals": animals[:SHOWN],
        "groups": Group.objects.filter(location=location, ended_at=None).order_by("name")[:SHOWN],
        "pens": _pens(location),
        **_already_written(location, now),
        "species": [(each, each) for each in (*location.species, *sorted(SPECIES - set(location.species)))],
        "commodities": Commodity.choices,
        "causes": HoldCause.choices,
        "results": ResidueResult.choices,
        "kinds": EndKind.choices,
        "routes": EndRoute.choices,
        "systems": MilkingSystem.choices,
        "times": ", ".join(f"{at:%H:%M}" for at in location.milking_times),
        "is_vet": request.user.holds(Role.VET),
        "form": request.POST,
        "now": now,
    }


def _pens(location: Location) -> list[Pen]:
    known = Count("stays", filter=Q(stays__until_at=None))
    rows = Group.objects.filter(location=location, ended_at=None).annotate(known=known)
    return [Pen(row, row.known, is_identified(row)) for row in rows.order_by("name")[:SHOWN]]


def _already_written(location: Location, now: datetime) -> dict[str, Any]:
    """Return what may have been written wrongly: calvings that stand, and animals that left."""
    calvings = Calving.objects.filter(
        animal__location=location, never=False, corrected_by=None, calved_at__gt=now - LOOKED_BACK
    )
    gone = Animal.objects.filter(location=location, ended_at__gt=now - LOOKED_BACK)
    return {
        "calvings": calvings.select_related("animal").order_by("-calved_at", "-pk")[:SHOWN],
        "gone": gone.order_by("farm_number", "tag")[:SHOWN],
    }


def _line(axis: Axis, sale: Sale, now: datetime) -> Line:
    start = axis.share(now)
    end = 100.0 if sale.clear_at is None else axis.share(sale.clear_at)
    return Line(sale, round(max(end - start, 0.5), 3), end, beyond=end >= 100)


def _others(location: Location) -> list[OtherHold]:
    rows = OtherHold.objects.filter(location=location, ends_at=None).select_related("animal", "group")
    return list(rows.order_by("from_at", "pk")[:SHOWN])


def write_down(request: HttpRequest, location: Location, step: str, write: Write) -> HttpResponse:
    """Write what a form says, or draw the page again with the refusal and what was typed."""
    now, address = timezone.now(), f"/farms/{location.pk}/held/"
    try:
        return done_once(request, now, lambda: (write(request, location, now), address))
    except DeskError as error:
        page = _shown(request, location) | {"error": error, "step": step}
        return render(request, "cases/held.html", page, status=error.status)


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def calving(request: HttpRequest, location_id: int) -> HttpResponse:
    """Write a calving."""
    return write_down(request, farm_of(request, location_id), "calving", _calving)


def _calving(request: HttpRequest, location: Location, now: datetime) -> str:
    form = request.POST
    row = record_calving(
        animal_id=row_key(form, "animal"),
        actor=request.user,
        now=now,
        calved_at=local_time(form, "calved_at", location.practice.tz),
        note=text(form, "note"),
    )
    colostrum = "Colostrum, at least the first 8 milkings, stays out of the tank as well."
    return f"Written: {row}. {out_until(row.animal, now)} {colostrum}"


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def move(request: HttpRequest, location_id: int) -> HttpResponse:
    """Write that an animal stands in another pen."""
    return write_down(request, farm_of(request, location_id), "move", _move)


def _move(request: HttpRequest, location: Location, now: datetime) -> str:
    form = request.POST
    stays = move_animals(
        animal_ids=[key for key in [row_key(form, "animal")] if key is not None],
        group_id=row_key(form, "group"),
        actor=request.user,
        now=now,
        moved_at=local_time(form, "moved_at", location.practice.tz),
        signs_shorter=ticked(form, "signs_shorter"),
    )
    moved = " ".join(out_until(stay.animal, now) for stay in stays)
    return f"Written. What holds the animal goes along with it. {moved}".strip()


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def test(request: HttpRequest, location_id: int) -> HttpResponse:
    """Write what a residue test said."""
    return write_down(request, farm_of(request, location_id), "test", _test)


def _test(request: HttpRequest, location: Location, now: datetime) -> str:
    form = request.POST
    result = text(form, "result", 8)
    if result not in ResidueResult.values:
        raise BadInput(field="result", problem="say what the test said.")
    row = record_residue_test(
        animal_id=row_key(form, "animal"),
        group_id=row_key(form, "group"),
        actor=request.user,
        now=now,
        commodity=text(form, "commodity", 4),
        taken_at=local_time(form, "taken_at", location.practice.tz),
        test=text(form, "test", 120),
        tested_by=text(form, "tested_by", 120),
        failed=result == ResidueResult.FAILED,
        note=text(form, "note"),
    )
    after = "Only the vet may set a new date." if row.result == "failed" else "It shortens nothing."
    return f"Written: {row}. {after}"


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def left(request: HttpRequest, location_id: int) -> HttpResponse:
    """Write how an animal or a pen left."""
    return write_down(request, farm_of(request, location_id), "left", _left)


def _left(request: HttpRequest, location: Location, now: datetime) -> str:
    form, who = request.POST, {"actor": request.user, "now": now}
    animal, group = row_key(form, "animal"), row_key(form, "group")
    if (animal is None) == (group is None):
        raise BadInput(field="animal", problem="say one of: the animal, or the pen.")
    said = Left(
        kind=text(form, "kind", 12),
        at=local_time(form, "at", location.practice.tz),
        route=text(form, "route", 10),
        method=text(form, "method", 120),
        buyer=text(form, "buyer", 160),
        buyer_email=text(form, "buyer_email", 254),
        told_in_writing=text(form, "told_in_writing"),
    )
    end = (
        animal_left(animal_id=animal, left=said, **who)
        if animal is not None
        else group_left(group_id=group, left=said, **who)
    )
    return f"Written: {end}, {end.get_route_display()}."


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def milking(request: HttpRequest, location_id: int) -> HttpResponse:
    """Write how the herd is milked."""
    return write_down(request, farm_of(request, location_id), "milking", _milking)


def _milking(request: HttpRequest, location: Location, now: datetime) -> str:
    form = request.POST
    change_milking(
        location_id=location.pk,
        actor=request.user,
        now=now,
        system=text(form, "system", 8),
        times=[_clock(word) for word in text(form, "times", 60).replace(",", " ").split()],
        signs_shorter=ticked(form, "signs_shorter"),
    )
    return "Written. Every running milk date was found anew."


def _clock(word: str) -> time:
    try:
        clock = time.fromisoformat(word if len(word) == 5 else "no clock time")
    except ValueError:
        raise BadInput(field="times", problem="write clock times such as 05:30, 16:30.") from None
    return clock


@member_page(Role.VET)
@require_POST
def end_hold(request: HttpRequest, hold_id: int) -> HttpResponse:
    """Set the end of something held without a treatment of ours, by the vet's signature."""
    row = other_hold_in(request.user.practice, hold_id)
    return write_down(
        request, row.location, f"hold-{row.pk}", lambda asked, _, now: _end_hold(asked, row, now)
    )


def _end_hold(request: HttpRequest, row: OtherHold, now: datetime) -> str:
    ends_at = local_time(request.POST, "ends_at", row.practice.tz)
    reason = text(request.POST, "reason")
    set_hold_end(hold_id=row.pk, actor=request.user, now=now, ends_at=ends_at, reason=reason)
    return "Signed. Nothing of it is free before the next morning."
