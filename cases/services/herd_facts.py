"""What is known of an animal beside its treatments: where it stood, when it calved, how it is milked."""

from collections.abc import Iterable
from datetime import datetime, timedelta

from django.db.models import Q, QuerySet

from cases.models import Animal, Calving, Group, GroupStay, Location, MilkingSystem, Treatment
from cases.withdrawal.herd import Milking
from rotas.models import Practice

FRESH = timedelta(days=30)
"""A dry-cow medicine so soon after a calving was given to a cow in milk, or one time is wrong. [cp]"""


def farm_locked(practice: Practice, location_id: int) -> Location:
    """Return the farm, locked: whatever decides about its produce happens one after the other.

    Taken after a call or visit, before any withdrawal. Rows that point to the farm can still be written.
    """
    rows = Location.objects.select_for_update(no_key=True, of=("self",)).select_related("practice", "client")
    return rows.get(practice=practice, pk=location_id)


def place_of(treatment: Treatment) -> Location:
    """Return the farm where the animal stands now; it may have been sold on."""
    subject: Animal | Group | None = treatment.animal or treatment.group
    return subject.location if subject is not None else treatment.location


def herd_of(location: Location) -> Milking | None:
    """Return how the herd is milked; None where no milk is sold or no times are known."""
    if location.milking_system == MilkingSystem.ROBOT:
        return Milking(robot=True)
    return Milking(tuple(sorted(set(location.milking_times)))) if location.milking_times else None


def standing_treatments() -> QuerySet[Treatment]:
    """Return the treatments that hold: not corrected by a newer one, nor written by mistake."""
    return Treatment.objects.filter(corrected_by__isnull=True, not_given__isnull=True)


def stood_during(stays: Iterable[GroupStay], start: datetime, end: datetime) -> list[GroupStay]:
    """Return who stood there at any moment from the first to the last dose, both included."""
    return [stay for stay in stays if stay.during(start, end)]


def is_identified(group: Group) -> bool:
    """Say whether every animal in the group is known: said so, and no more head than those on record."""
    return all_known(group, group.stays.standing().count())


def all_known(group: Group, on_record: int) -> bool:
    """Say so where it is known how many of those that stand in it are on record."""
    return group.all_identified and group.head <= on_record


def one_animal(animal: Animal) -> list[int]:
    """Return the keys under which one animal is on record: its own, and those of its other tags."""
    (keys,) = tags_of([animal]).values()
    return keys


def tags_of(animals: Iterable[Animal]) -> dict[int, list[int]]:
    """Return the keys under which each animal is on record, by the key of its first tag."""
    first = {animal.same_as_id or animal.pk for animal in animals}
    found: dict[int, list[int]] = {key: [] for key in first}
    rows = Animal.objects.filter(Q(pk__in=first) | Q(same_as__in=first)) if first else Animal.objects.none()
    for key, same_as in rows.values_list("pk", "same_as"):
        for tag in first & {key, same_as or key}:
            found[tag].append(key)
    return found


def calvings_of(animal: Animal) -> QuerySet[Calving]:
    """Return the calvings of an animal that stand, under any of its tags, the first first."""
    return calvings_under(one_animal(animal))


def calvings_under(keys: Iterable[int]) -> QuerySet[Calving]:
    """Return the calvings that stand of all the animals with these keys, the first first."""
    rows = Calving.objects.filter(animal__in=list(keys), never=False, corrected_by__isnull=True)
    return rows.order_by("calved_at", "pk")


def calved_at(treatment: Treatment) -> datetime | None:
    """Return the calving that the treatment's dry-cow clock counts from, None while it is not on record.

    The first at or after the last dose; without one, a calving shortly before the last dose, which is
    outside a dry-cow label. Of a group, the last of its animals to calve, once all have.
    """
    if treatment.animal is not None:
        return _calving_for(treatment.animal, treatment.last_given_at)
    group = treatment.group
    assert group is not None
    on_record = group.stays.select_related("animal")
    stays = stood_during(on_record, treatment.first_given_at, treatment.last_given_at)
    animals = {stay.animal for stay in stays}
    if not animals or not group.all_identified or group.head > len(animals):
        return None
    moments = [_calving_for(animal, treatment.last_given_at) for animal in animals]
    known = [moment for moment in moments if moment is not None]
    before = [moment for moment in known if moment < treatment.last_given_at]
    if before:
        return min(before)
    return max(known) if len(known) == len(moments) else None


def _calving_for(animal: Animal, last_dose: datetime) -> datetime | None:
    rows = calvings_of(animal)
    later = rows.filter(calved_at__gte=last_dose).first()
    found = later or rows.filter(calved_at__gt=last_dose - FRESH).last()
    return found.calved_at if found else None
