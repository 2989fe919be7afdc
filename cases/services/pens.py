"""Who stands in which pen: animals take their holds along, and identity is what sets them free."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction

from cases.access import animal_in, group_in
from cases.errors import HasLeft, ShortensWithdrawal, WrongFarm
from cases.models import Animal, Commodity, Group, GroupStay, HoldCause, OtherHold
from cases.services.calving import reckon_again, signing_vet
from cases.services.herd_facts import farm_locked, is_identified
from cases.services.hold_plans import plan_held
from cases.services.known import Known
from cases.services.other_holds import write_hold
from cases.services.reminder_times import next_morning
from cases.services.said import required
from cases.services.selling import Answer, Sale, could_give, holds_at, sales_of, sales_of_all
from cases.withdrawal.clock import shown
from rotas.access import require_role
from rotas.errors import BadInput, FromTheFuture
from rotas.models import Member, Role, Vet
from rotas.services.telling import tell

CLOCKS_MAY_DIFFER = timedelta(minutes=2)
MOST_HEAD = 100_000
TICK = timedelta(microseconds=1)

Subject = Animal | Group


@transaction.atomic
def move_animals(
    *,
    animal_ids: Iterable[Any],
    group_id: Any,
    actor: Member,
    now: datetime,
    moved_at: datetime,
    signs_shorter: bool = False,
) -> list[GroupStay]:
    """Write that animals, each known by its tag, stand in a pen from a moment on; None: in no pen.

    Holds go along. Where an animal would be free sooner by it (it leaves a pen in which an identity is
    unknown, or the record says that it never stood there), a vet signs, and it counts from the morning.
    """
    require_role(actor, Role.VET, Role.RECEPTION)
    animals = [animal_in(actor.practice, key) for key in sorted({int(key) for key in animal_ids})]
    if not animals:
        raise BadInput(field="animals", problem="say which animals, by their tags.")
    group = None if group_id is None else group_in(actor.practice, group_id)
    _require_here(animals, group)
    moment = _moment(moved_at, now)
    farm_locked(actor.practice, animals[0].location_id)
    watched = _concerned(animals)
    before = _answers(watched, now)
    joined = [group] if group and not is_identified(group) else []
    told = _answers(joined, now)
    made = [stay for animal in animals if (stay := _move(animal, group, moment, actor, now)) is not None]
    for animal in animals:
        reckon_again(animal, actor, now, "pens corrected")
    require_no_shorter(before, watched, actor, now, signing_vet(actor, signs_shorter))
    _warn_of_pen(joined, told, now)
    _tell_moved(animals, group, moment, actor, now)
    return made


def _require_here(animals: list[Animal], group: Group | None) -> None:
    for animal in animals:
        if animal.ended_at is not None:
            raise HasLeft(animal=str(animal))
        farm = group.location if group else animals[0].location
        if animal.location_id != farm.pk:
            raise WrongFarm(field="animals", what=str(animal), farm=animal.location.name)
    if group is not None and group.ended_at is not None:
        raise HasLeft(animal=group.name)


def _moment(moment: datetime, now: datetime) -> datetime:
    if moment > now + CLOCKS_MAY_DIFFER:
        raise FromTheFuture(field="moved_at")
    return min(moment, now)


def _concerned(animals: list[Animal]) -> list[Subject]:
    """Return what a move may free: the animals, and the pens they leave in which an identity is unknown.

    A pen whose animals are all known only loses what goes along with the animal.
    """
    stays = [stay for animal in animals for stay in animal.stays.standing().select_related("group")]
    pens = {stay.group_id: stay.group for stay in stays if not is_identified(stay.group)}
    return [*animals, *pens.values()]


def _move(
    animal: Animal, group: Group | None, moment: datetime, actor: Member, now: datetime
) -> GroupStay | None:
    """End the stay of that moment, take back later ones, and begin the new one."""
    stays = animal.stays.select_for_update()
    if group is not None and (same := stays.at(moment).standing().filter(group=group).first()):
        return same
    if stays.filter(from_at__gt=moment).exists():
        problem = f"{animal} was moved again after that moment. Write the moves in their order."
        raise BadInput(field="moved_at", problem=problem)
    for stay in stays.at(moment):
        if stay.from_at == moment and group is not None:
            stay.group = group
            stay.save(update_fields=["group"])
            return stay
        stay.until_at = max(moment, stay.from_at + TICK)
        stay.save(update_fields=["until_at"])
    if group is None:
        return None
    return GroupStay.objects.create(
        practice=animal.practice,
        group=group,
        animal=animal,
        from_at=moment,
        recorded_at=now,
        recorded_by=actor,
    )


@transaction.atomic
def say_identified(
    *, group_id: Any, actor: Member, now: datetime, identified: bool, head: int, signs_shorter: bool = False
) -> Group:
    """Write whether every tag in a pen is read and on record, and how many head there are.

    A count above those on record means that somebody unknown is in it, whatever is ticked. To call a
    held pen identified frees those without a date of their own, which a vet signs.
    """
    require_role(actor, Role.VET, Role.RECEPTION)
    group = group_in(actor.practice, group_id)
    if not 0 <= head <= MOST_HEAD:
        raise BadInput(field="head", problem=f"say how many there are, from 0 to {MOST_HEAD}.")
    farm_locked(actor.practice, group.location_id)
    group = group_in(actor.practice, group_id)
    known = group.stays.standing().count()
    if identified and head > known:
        problem = f"{head} head, but only {known} are on record here. Move the others in by their tags first."
        raise BadInput(field="head", problem=problem)
    frees = identified and not is_identified(group)
    held = [sale for sale in sales_of(group, now) if not sale.allowed] if frees else []
    was = {"all_identified": group.all_identified, "head": group.head}
    group.all_identified, group.head = identified, head
    group.save(update_fields=["all_identified", "head"])
    _require_signed([(group, sale) for sale in held], actor, now, signing_vet(actor, signs_shorter))
    after = {"all_identified": identified, "head": head}
    said = "every animal is known" if identified else "not every animal is known"
    _tell(group, actor, now, "pen_identity", f"{group.location}: {group.name}: {said}", was, after)
    return group


@transaction.atomic
def unknown_joined(*, group_id: Any, actor: Member, now: datetime, head: int, reason: str) -> Group:
    """Write that animals of which nothing is known came into a pen: all of it is held until a vet signs."""
    require_role(actor, Role.VET, Role.RECEPTION)
    group = group_in(actor.practice, group_id)
    why = required(reason, "reason", "say where they came from.")
    if not 1 <= head <= MOST_HEAD:
        raise BadInput(field="head", problem="say how many joined, at least 1.")
    farm_locked(actor.practice, group.location_id)
    group = group_in(actor.practice, group_id)
    was = {"all_identified": group.all_identified, "head": group.head}
    group.all_identified, group.head = False, group.head + head
    group.save(update_fields=["all_identified", "head"])
    for commodity in Commodity:
        if commodity in could_give(group):
            write_hold(group, commodity, HoldCause.UNKNOWN, f"{head} joined: {why}", actor, now)
            plan_held(group, commodity, now)
    sentence = f"{group.location}: {head} unknown head joined {group.name}"
    _tell(group, actor, now, "unknown_joined", sentence, was, {"head": group.head})
    return group


def _answers(subjects: Iterable[Subject], now: datetime) -> dict[tuple[type, int], list[Sale]]:
    asked = list(subjects)
    found = zip(asked, sales_of_all(asked, now), strict=True)
    return {(type(subject), subject.pk): sales for subject, sales in found}


def require_no_shorter(
    before: dict[tuple[type, int], list[Sale]],
    subjects: Iterable[Subject],
    actor: Member,
    now: datetime,
    signer: Vet | None,
) -> None:
    """Refuse what frees an animal or pen sooner without a vet; signed, it counts from the morning."""
    watched = list(subjects)
    after = _answers(watched, now)
    freed = [
        (subject, sale)
        for subject in watched
        for sale in before[(type(subject), subject.pk)]
        if _is_sooner(sale, after[(type(subject), subject.pk)])
    ]
    _require_signed(freed, actor, now, signer)


def _require_signed(
    freed: list[tuple[Subject, Sale]], actor: Member, now: datetime, signer: Vet | None
) -> None:
    if freed and signer is None:
        raise ShortensWithdrawal(what=" and ".join(sorted({sale.commodity.value for _, sale in freed})))
    for subject, sale in freed:
        _keep_until_morning(subject, sale, actor, now, signer)


def _warn_of_pen(pens: list[Group], told: dict[tuple[type, int], list[Sale]], now: datetime) -> None:
    """Tell the farm at once where a held animal came into a pen in which an identity is unknown."""
    for pen in pens:
        before = {sale.commodity: sale for sale in told[(Group, pen.pk)]}
        for sale in sales_of(pen, now):
            if _is_later(sale, before[sale.commodity]):
                plan_held(pen, sale.commodity, now, was_at=_told_until(before[sale.commodity]))


def _told_until(before: Sale) -> datetime | None:
    return None if before.allowed else before.clear_at


def _is_later(sale: Sale, before: Sale) -> bool:
    if sale.allowed:
        return False
    return before.allowed or (before.clear_at is not None and sale.clear_at != before.clear_at)


def _is_sooner(sale: Sale, after: list[Sale]) -> bool:
    """Say whether the produce would now be free before the date, or without the answer, of before."""
    if sale.allowed:
        return False
    fresh = next(each for each in after if each.commodity == sale.commodity)
    if sale.answer is Answer.UNKNOWN:
        return False  # to write where an animal stood is the answer that was asked for
    if fresh.answer is not Answer.NO:
        return True
    return fresh.clear_at is not None and (sale.clear_at is None or fresh.clear_at < sale.clear_at)


def _keep_until_morning(
    subject: Subject, sale: Sale, actor: Member, now: datetime, signer: Vet | None
) -> None:
    morning = next_morning(subject.practice, now)
    until = morning if sale.clear_at is None else min(morning, sale.clear_at)
    if until <= now:
        return
    OtherHold.objects.create(
        practice=subject.practice,
        location=subject.location,
        animal=subject if isinstance(subject, Animal) else None,
        group=subject if isinstance(subject, Group) else None,
        commodity=sale.commodity.value,
        cause=HoldCause.UNKNOWN,
        from_at=now,
        ends_at=until,
        first_saleable_at=until,
        reason=f"{signer} signed it free; that counts from {shown(until, subject.practice.tz)}",
        signed_by=signer,
        signed_at=now,
        recorded_at=now,
        recorded_by=actor,
    )


def _tell_moved(
    animals: list[Animal], group: Group | None, moment: datetime, actor: Member, now: datetime
) -> None:
    where = group.name if group else "no pen"
    whom = ", ".join(str(animal) for animal in animals[:20])
    known = Known(animals, [now])
    held = [animal.tag for animal in animals if _is_held(animal, now, known)]
    tell(
        practice=animals[0].practice,
        now=now,
        verb="animals_moved",
        subject=group or animals[0],
        topic="aftercare",
        actor=actor,
        sentence=f"{animals[0].location}: {whom} to {where}, {shown(moment, animals[0].practice.tz)}",
        after={"animals": [animal.pk for animal in animals], "from": moment, "held": held},
    )


def _is_held(animal: Animal, now: datetime, known: Known) -> bool:
    return any(holds_at(animal, commodity, now, known) for commodity in Commodity)


def _tell(
    group: Group,
    actor: Member,
    now: datetime,
    verb: str,
    sentence: str,
    before: dict[str, Any],
    after: dict[str, Any],
) -> None:
    tell(
        practice=group.practice,
        now=now,
        verb=verb,
        subject=group,
        topic="aftercare",
        actor=actor,
        sentence=sentence,
        before=before,
        after=after,
    )
