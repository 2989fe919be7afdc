"""What holds an animal's or a pen's milk, meat or eggs, and until when."""

from collections.abc import Iterable
from datetime import datetime

from django.db.models import Q, QuerySet

from cases.models import (
    Animal,
    Group,
    GroupStay,
    OtherHold,
    Treatment,
    Withdrawal,
    WithdrawalState,
)
from cases.services.herd_facts import is_identified, one_animal
from rotas.models import Practice

HOLDING = (WithdrawalState.RUNNING, WithdrawalState.NEEDS_VET, WithdrawalState.NOT_FOR_USE)

Rank = tuple[bool, datetime | None, datetime | None] | tuple[bool]
Hold = Withdrawal | OtherHold


def holding_rows(at: datetime | None = None) -> QuerySet[Withdrawal]:
    """Return every row that holds something; at a moment, without what has given way to a shorter date."""
    rows = Withdrawal.objects.filter(state__in=HOLDING)
    if at is not None:
        rows = rows.filter(Q(gives_way_at__isnull=True) | Q(gives_way_at__gt=at))
    return rows.select_related(
        "practice",
        "treatment__medicine",
        "treatment__animal__location",
        "treatment__group__location",
        "treatment__location",
    )


def other_rows() -> QuerySet[OtherHold]:
    """Return what is held for another reason than a treatment of ours."""
    return OtherHold.objects.select_related("practice", "animal", "group")


def holds_of(animal: Animal, commodity: str | None = None, *, at: datetime | None = None) -> list[Withdrawal]:
    """Return every withdrawal that holds the animal's produce, the one that governs last.

    Its own treatments, those of pens that it stood in at any moment of the course, and everything
    in the pen where it stands now, if an identity there is unknown.
    """
    rows = holding_rows(at).filter(treatment__practice_id=animal.practice_id)
    if commodity is not None:
        rows = rows.filter(commodity=commodity)
    found = {row.pk: row for row in rows.filter(treated(animal))}
    for pen in unknown_pens(animal, at):
        found |= {row.pk: row for row in pen_holds(pen, commodity, at=at)}
    return sorted(found.values(), key=rank_and_key)


def treated(animal: Animal, prefix: str = "treatment__") -> Q:
    """Return the treatments that reached the animal, under any of its tags or with a pen that it stood in."""
    keys = one_animal(animal)
    wanted = Q(**{f"{prefix}animal__in": keys})
    for stay in GroupStay.objects.filter(animal__in=keys):
        course = {f"{prefix}group": stay.group_id, f"{prefix}last_given_at__gte": stay.from_at}
        if stay.until_at is not None:
            course[f"{prefix}first_given_at__lt"] = stay.until_at
        wanted |= Q(**course)
    return wanted


def unknown_pens(animal: Animal, at: datetime | None = None) -> list[Group]:
    """Return the pens where the animal stands in which an identity is not known."""
    rows = GroupStay.objects.filter(animal__in=one_animal(animal))
    stays = rows.standing() if at is None else rows.at(at)
    return [stay.group for stay in stays.select_related("group") if not is_identified(stay.group)]


def pen_holds(group: Group, commodity: str | None = None, *, at: datetime | None = None) -> list[Withdrawal]:
    """Return every withdrawal that holds anything in the pen, the one that sets its date last.

    What the whole pen was given, and what the animals brought along that stand in it now. What the pen
    was given before those who stand in it now came holds it no more, if every one of them is known.
    """
    rows = holding_rows(at).filter(treatment__practice_id=group.practice_id)
    if commodity is not None:
        rows = rows.filter(commodity=commodity)
    animals = [stay.animal for stay in standing_in(group, at)]
    wanted = Q(pk__in=[]) if is_identified(group) and animals else Q(treatment__group=group)
    for animal in animals:
        wanted |= treated(animal)
    return sorted(rows.filter(wanted).distinct(), key=rank_and_key)


def standing_in(group: Group, at: datetime | None = None) -> list[GroupStay]:
    """Return who stands in the pen, as far as it is on record."""
    stays = group.stays.standing() if at is None else group.stays.at(at)
    return list(stays.select_related("animal__location").order_by("animal__tag"))


def other_holds_of(animal: Animal, *, at: datetime | None = None) -> list[OtherHold]:
    """Return what holds the animal beside treatments: bought in, a failed test, poisoning."""
    keys = one_animal(animal)
    wanted = Q(animal__in=keys)
    for stay in GroupStay.objects.filter(animal__in=keys):
        held = Q(group=stay.group_id)
        wanted |= held if stay.until_at is None else held & Q(from_at__lt=stay.until_at)
    for pen in unknown_pens(animal, at):
        wanted |= Q(group=pen) | Q(animal__in=[stay.animal_id for stay in standing_in(pen, at)])
    return _open(other_rows().filter(wanted, practice=animal.practice_id).distinct(), at)


def other_holds_in(group: Group, *, at: datetime | None = None) -> list[OtherHold]:
    """Return what holds anything in the pen beside treatments."""
    animals = [stay.animal_id for stay in standing_in(group, at)]
    rows = other_rows().filter(Q(group=group) | Q(animal__in=animals), practice=group.practice_id)
    return _open(rows.distinct(), at)


def _open(rows: Iterable[OtherHold], at: datetime | None) -> list[OtherHold]:
    held = [row for row in rows if at is None or not clear(row, at)]
    return sorted(held, key=rank_and_key)


def clear(row: Hold, at: datetime) -> bool:
    """Say whether this hold alone lets produce of the moment go; without an end, never."""
    clear_from = row.first_saleable_at or row.ends_at
    return clear_from is not None and at >= clear_from


def holding(treatment: Treatment, commodity: str, now: datetime | None = None) -> list[Withdrawal]:
    """Return every withdrawal that holds this commodity of the treated animal or group."""
    if treatment.animal is not None:
        return holds_of(treatment.animal, commodity, at=now)
    assert treatment.group is not None
    return pen_and_own(treatment, commodity, now)


def pen_and_own(treatment: Treatment, commodity: str, now: datetime | None) -> list[Withdrawal]:
    """Return what holds a pen together with the treatment's own rows, whoever stands there by now."""
    assert treatment.group is not None
    found = {row.pk: row for row in pen_holds(treatment.group, commodity, at=now)}
    own = holding_rows(now).filter(treatment__group=treatment.group_id, commodity=commodity)
    return sorted((found | {row.pk: row for row in own}).values(), key=rank_and_key)


def governing(treatment: Treatment, commodity: str, now: datetime | None = None) -> Withdrawal | None:
    """Return the one that ends last; one without an end outranks all that have one."""
    return next(reversed(holding(treatment, commodity, now)), None)


def still_held(withdrawal: Withdrawal, now: datetime | None = None) -> Withdrawal | None:
    """Return the other withdrawal that holds the same produce longer, if there is one."""
    last = governing(withdrawal.treatment, withdrawal.commodity, now)
    return last if last is not None and rank(last) > rank(withdrawal) else None


def rank(row: Hold) -> Rank:
    """Order holds by when they let go; one without an end is the last of all."""
    end = row.first_saleable_at or row.ends_at
    return (True,) if end is None else (False, end, row.ends_at)


def rank_and_key(row: Hold) -> tuple[Rank, int]:
    """Order holds always in the same way."""
    return rank(row), row.pk


def last_of_each(practice: Practice, at: datetime) -> list[Withdrawal]:
    """Return what governs each treated animal or pen and commodity, those without a date first.

    One row for each, so that no list shows the end of a medicine that another outlasts.
    """
    last: dict[tuple[int | None, int | None, str], Withdrawal] = {}
    rows = holding_rows(at).filter(practice=practice).select_related("treatment__vet__member")
    for row in sorted(rows, key=rank_and_key):
        last[row.treatment.animal_id, row.treatment.group_id, row.commodity] = row
    return sorted(last.values(), key=lambda row: (row.ends_at is not None, rank_and_key(row)))
