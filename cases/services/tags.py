"""One animal under two tags: what holds it under one holds it under both."""

from datetime import datetime
from typing import Any

from django.db import transaction

from cases.access import animal_in
from cases.errors import WrongFarm
from cases.models import Animal
from cases.services.calving import locked_animal, reckon_again
from cases.services.said import required
from rotas.access import require_role
from rotas.errors import AlreadyDone, BadInput
from rotas.models import Member, Role
from rotas.services.telling import tell


@transaction.atomic
def say_same_animal(*, animal_id: Any, other_id: Any, actor: Member, now: datetime, reason: str) -> Animal:
    """Write that two tags are of one animal (a lost tag replaced, one read wrongly).

    Holds only come together by it, none becomes shorter. Return the animal whose row stands for both.
    """
    require_role(actor, Role.VET, Role.RECEPTION)
    why = required(reason, "reason", "say how it is known that they are one.")
    animal, other = locked_animal(animal_id, actor), animal_in(actor.practice, other_id)
    if animal.pk == other.pk:
        raise BadInput(field="other", problem="that is the same tag. Say the other one.")
    if animal.location_id != other.location_id:
        raise WrongFarm(field="other", what=str(other), farm=other.location.name)
    if animal.same_as_id is not None or other.same_as_id is not None or other.other_tags.exists():
        raise AlreadyDone("One of these tags is joined to an animal already. Name that animal's first tag.")
    other.same_as = animal
    other.save(update_fields=["same_as"])
    reckon_again(animal, actor, now, f"{other.tag} is {animal.tag}")
    tell(
        practice=animal.practice,
        now=now,
        verb="tags_joined",
        subject=animal,
        topic="aftercare",
        actor=actor,
        sentence=f"{animal.location}: {other} is the same animal as {animal}",
        reason=why,
        after={"other": other.pk},
    )
    return animal
