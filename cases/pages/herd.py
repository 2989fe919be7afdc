"""Who stands at a farm: pens and their identity, animals that come, tags, and what was written wrongly."""

from datetime import datetime

from django.http import HttpRequest, HttpResponse, QueryDict
from django.views.decorators.http import require_POST

from cases.access import animal_in, calving_in, group_in
from cases.errors import WrongFarm
from cases.models import Animal, Calving, Group, Location
from cases.pages.held import farm_of, write_down
from cases.pages.held_words import out_until
from cases.services.arriving import buy_in, undo_end
from cases.services.calving_corrections import calving_of_another, correct_calving
from cases.services.other_holds import hold_produce
from cases.services.pens import say_identified, unknown_joined
from cases.services.tags import say_same_animal
from rotas.errors import BadInput
from rotas.models import Role
from rotas.pages.fields import local_time, row_key, text, ticked, whole_number
from rotas.pages.member import member_page

TYPED = "%Y-%m-%dT%H:%M"


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def identity(request: HttpRequest, group_id: int) -> HttpResponse:
    """Write whether every animal in a pen can be told apart."""
    group = group_in(request.user.practice, group_id)
    step = f"identity-{group.pk}"
    return write_down(request, group.location, step, lambda asked, _, now: _identity(asked, group, now))


def _identity(request: HttpRequest, group: Group, now: datetime) -> str:
    form = request.POST
    identified = _chosen(form, "identified", ("yes", "no"), "say whether every animal can be told apart.")
    row = say_identified(
        group_id=group.pk,
        actor=request.user,
        now=now,
        identified=identified == "yes",
        head=whole_number(form, "head"),
        signs_shorter=ticked(form, "signs_shorter"),
    )
    known = "every animal is known" if row.all_identified else "not every animal is known, so all wait"
    return f"Written: {row.name}, {row.head} head, {known}. {out_until(row, now)}"


def _chosen(form: QueryDict, field: str, choices: tuple[str, ...], problem: str) -> str:
    said = form.get(field, "")
    if said not in choices:
        raise BadInput(field=field, problem=problem)
    return said


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def unknown(request: HttpRequest, group_id: int) -> HttpResponse:
    """Write that an animal of which nothing is known joined a pen."""
    group = group_in(request.user.practice, group_id)
    step = f"unknown-{group.pk}"
    return write_down(request, group.location, step, lambda asked, _, now: _unknown(asked, group, now))


def _unknown(request: HttpRequest, group: Group, now: datetime) -> str:
    head, reason = whole_number(request.POST, "head"), text(request.POST, "reason")
    row = unknown_joined(group_id=group.pk, actor=request.user, now=now, head=head, reason=reason)
    return f"Written: {head} joined {row.name}, {row.head} head now. {out_until(row, now)}"


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def arrived(request: HttpRequest, location_id: int) -> HttpResponse:
    """Write that an animal came to the farm."""
    return write_down(request, farm_of(request, location_id), "arrived", _arrived)


def _arrived(request: HttpRequest, location: Location, now: datetime) -> str:
    form = request.POST
    row = buy_in(
        location_id=location.pk,
        tag=text(form, "tag", 40),
        species=text(form, "species", 20),
        actor=request.user,
        now=now,
        arrived_at=local_time(form, "arrived_at", location.practice.tz, otherwise=now),
        from_whom=text(form, "from_whom", 160),
        farm_number=text(form, "farm_number", 20),
        in_milk=ticked(form, "in_milk"),
        papers=text(form, "papers"),
    )
    signed = "A vet who has seen its papers signs a date."
    return f"Written: {row} came to {location}. {out_until(row, now)} {signed}"


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def same(request: HttpRequest, location_id: int) -> HttpResponse:
    """Write that two tags are of one animal."""
    return write_down(request, farm_of(request, location_id), "same", _same)


def _same(request: HttpRequest, location: Location, now: datetime) -> str:
    form = request.POST
    animal, other = _needed(request, location, "animal"), _needed(request, location, "other")
    reason = text(form, "reason")
    row = say_same_animal(animal_id=animal.pk, other_id=other.pk, actor=request.user, now=now, reason=reason)
    return f"Written: {other.tag} and {row.tag} are one animal. {out_until(row, now)}"


def _needed(request: HttpRequest, location: Location, field: str) -> Animal:
    """Return the animal that was chosen, which stands on this farm."""
    key = row_key(request.POST, field)
    if key is None:
        raise BadInput(field=field, problem="choose one from the list.")
    animal = animal_in(request.user.practice, key)
    if animal.location_id != location.pk:
        raise WrongFarm(field=field, what=str(animal), farm=animal.location.name)
    return animal


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def calving_wrong(request: HttpRequest, location_id: int) -> HttpResponse:
    """Put a calving right: another time, another cow, or none."""
    return write_down(request, farm_of(request, location_id), "calving-wrong", _calving_wrong)


def _calving_wrong(request: HttpRequest, location: Location, now: datetime) -> str:
    form, old = request.POST, _calving(request, location)
    what = _chosen(form, "what", ("time", "other", "never"), "say what was wrong.")
    if what == "other":
        return _of_another(request, location, old, now)
    if row_key(form, "animal") is not None:
        _needed(request, location, "animal")
        raise BadInput(field="animal", problem="you named another cow: say that it was another cow's.")
    moment = local_time(form, "calved_at", location.practice.tz) if what == "time" else None
    row = correct_calving(calving_id=old.pk, calved_at=moment, **_said(request, now))
    said = "calved at another time" if moment else "did not calve, so what counts from it is open again"
    return f"Written: {row.animal} {said}. {out_until(row.animal, now)}"


def _calving(request: HttpRequest, location: Location) -> Calving:
    key = row_key(request.POST, "calving")
    if key is None:
        raise BadInput(field="calving", problem="choose the calving that was written wrongly.")
    calving = calving_in(request.user.practice, key)
    if calving.animal.location_id != location.pk:
        raise WrongFarm(field="calving", what=str(calving), farm=calving.animal.location.name)
    return calving


def _of_another(request: HttpRequest, location: Location, old: Calving, now: datetime) -> str:
    right = _needed(request, location, "animal")
    calving_of_another(calving_id=old.pk, animal_id=right.pk, **_said(request, now))
    return (
        f"Written: {right} calved, and {old.animal} did not. {out_until(right, now)} "
        f"{out_until(old.animal, now)}"
    )


def _said(request: HttpRequest, now: datetime) -> dict[str, object]:
    return {
        "actor": request.user,
        "now": now,
        "note": text(request.POST, "note"),
        "signs_shorter": ticked(request.POST, "signs_shorter"),
    }


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def back(request: HttpRequest, location_id: int) -> HttpResponse:
    """Write that an animal has not left after all."""
    return write_down(request, farm_of(request, location_id), "back", _back)


def _back(request: HttpRequest, location: Location, now: datetime) -> str:
    animal, reason = _needed(request, location, "animal"), text(request.POST, "reason")
    row = undo_end(animal_id=animal.pk, actor=request.user, now=now, reason=reason)
    return f"Written: {row} has not left. {out_until(row, now)}"


@member_page(Role.RECEPTION, Role.VET)
@require_POST
def hold(request: HttpRequest, location_id: int) -> HttpResponse:
    """Hold something for which no treatment of ours gives a date: poisoning, say."""
    return write_down(request, farm_of(request, location_id), "hold", _hold)


def _hold(request: HttpRequest, location: Location, now: datetime) -> str:
    form = request.POST
    row = hold_produce(
        actor=request.user,
        now=now,
        commodity=text(form, "commodity", 4),
        cause=text(form, "cause", 10),
        reason=text(form, "reason"),
        animal_id=row_key(form, "animal"),
        group_id=row_key(form, "group"),
    )
    return f"Written, and the farm is told at once. {out_until(row.animal or row.group, now)}"
