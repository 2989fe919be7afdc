"""Animals that come to a farm, with holds that nobody here has written; and those that come back."""

from datetime import datetime, timedelta
from typing import Any

from django.db import transaction

from cases.access import animal_in, location_in
from cases.errors import WrongFarm
from cases.models import Animal, AnimalEnd, Commodity, HoldCause, Location
from cases.services.calving import reckon_again
from cases.services.herd_facts import farm_locked
from cases.services.other_holds import write_hold
from cases.services.said import required
from cases.services.selling import could_give
from cases.triage.vocabulary import SPECIES
from rotas.access import require_role
from rotas.errors import AlreadyDone, BadInput, FromTheFuture
from rotas.models import Member, Role
from rotas.services.telling import tell

CLOCKS_MAY_DIFFER = timedelta(minutes=2)


@transaction.atomic
def buy_in(
    *,
    location_id: Any,
    tag: str,
    species: str,
    actor: Member,
    now: datetime,
    arrived_at: datetime,
    from_whom: str,
    farm_number: str = "",
    in_milk: bool = False,
    papers: str = "",
) -> Animal:
    """Write that an animal came to a farm. What it could give is held until a vet has seen its papers.

    `papers` is what its papers or its seller say of treatments: it helps the vet who signs a date, and
    sets none. A tag that is on record here is that animal: its own holds come with it.
    """
    require_role(actor, Role.VET, Role.RECEPTION)
    location = location_in(actor.practice, location_id)
    whom = required(from_whom, "from_whom", "say whom it came from.")
    if arrived_at > now + CLOCKS_MAY_DIFFER:
        raise FromTheFuture(field="arrived_at")
    tag = _tag(tag)
    farm_locked(actor.practice, location.pk)
    known = Animal.objects.select_for_update(of=("self",)).filter(practice=actor.practice, tag=tag).first()
    animal = (
        _back(known, location, actor, now) if known else _new(location, tag, species, farm_number, in_milk)
    )
    reason = f"came from {whom}; {_given_there(papers)}"
    for commodity in Commodity:
        if commodity in could_give(animal):
            write_hold(animal, commodity, HoldCause.BOUGHT_IN, reason, actor, now, min(arrived_at, now))
    reckon_again(animal, actor, now, f"{animal} came to {location}")
    _tell(animal, actor, now, "animal_bought_in", f"{location}: {animal} came from {whom}")
    return animal


def _given_there(papers: str) -> str:
    said = papers.strip().rstrip(".")
    if not said:
        return "what it was given there is not known"
    return f"no vet has seen yet what is said of its treatments: {said}"


def _tag(tag: str) -> str:
    tag = required(tag, "tag", "say its tag. Without one, write it as an unknown that joined a pen.")
    if not tag.isprintable():
        raise BadInput(field="tag", problem="a tag has letters, digits and blanks only.")
    return " ".join(tag.split())


def _new(location: Location, tag: str, species: str, farm_number: str, in_milk: bool) -> Animal:
    if species not in SPECIES:
        raise BadInput(field="species", problem=f"a new tag needs its species: {', '.join(sorted(SPECIES))}.")
    if len(tag) > 40:
        raise BadInput(field="tag", problem="a tag has at most 40 characters.")
    return Animal.objects.create(
        practice=location.practice,
        location=location,
        tag=tag,
        species=species,
        farm_number=farm_number.strip()[:20],
        in_milk=in_milk,
    )


def _back(known: Animal, location: Location, actor: Member, now: datetime) -> Animal:
    """Let an animal that left stand on this farm, with whatever still holds it."""
    if known.ended_at is None:
        if known.location_id == location.pk:
            raise AlreadyDone(f"{known} is on this farm already.")
        raise WrongFarm(field="tag", what=str(known), farm=known.location.name)
    known.location, known.ended_at = location, None
    known.save(update_fields=["location", "ended_at"])
    _undo_end(known, now, f"came to {location}")
    return animal_in(actor.practice, known.pk)


@transaction.atomic
def undo_end(*, animal_id: Any, actor: Member, now: datetime, reason: str) -> Animal:
    """Write that an animal has not left after all. What holds it was never gone."""
    require_role(actor, Role.VET, Role.RECEPTION)
    animal = animal_in(actor.practice, animal_id)
    why = required(reason, "reason", "say what was wrong.")
    farm_locked(actor.practice, animal.location_id)
    animal = animal_in(actor.practice, animal_id)
    if animal.ended_at is None:
        raise AlreadyDone(f"{animal} is on the farm.")
    animal.ended_at = None
    animal.save(update_fields=["ended_at"])
    _undo_end(animal, now, why)
    reckon_again(animal, actor, now, why)
    _tell(animal, actor, now, "animal_back", f"{animal.location}: {animal} has not left", why)
    return animal


def _undo_end(animal: Animal, now: datetime, why: str) -> None:
    for end in AnimalEnd.objects.select_for_update().filter(animal=animal, undone_at=None):
        end.undone_at, end.undone_reason = now, why
        end.save(update_fields=["undone_at", "undone_reason"])


def _tell(animal: Animal, actor: Member, now: datetime, verb: str, sentence: str, reason: str = "") -> None:
    tell(
        practice=animal.practice,
        now=now,
        verb=verb,
        subject=animal,
        topic="aftercare",
        actor=actor,
        sentence=sentence,
        reason=reason,
    )
