"""What is held at one farm now: every animal and every pen, with the answer that everything shows."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Exists, OuterRef, Q, QuerySet

from cases.models import (
    Animal,
    Commodity,
    Group,
    GroupStay,
    Location,
    OtherHold,
    Treatment,
    Withdrawal,
)
from cases.services.herd_facts import standing_treatments
from cases.services.known import LOOKED_BACK, holding_rows
from cases.services.selling import Sale, sales_of_all

FRESH_MILK = timedelta(days=10)
"""Longer than the first 8 milkings after a calving take, however a herd is milked."""

Subject = Animal | Group


@dataclass(frozen=True)
class Held:
    """One animal or pen with the answers that are no plain yes, milk first."""

    subject: Subject
    sales: tuple[Sale, ...]

    @property
    def is_group(self) -> bool:
        """Say whether it is a pen."""
        return isinstance(self.subject, Group)


def held_at(location: Location, now: datetime) -> list[Held]:
    """Return what is not simply for sale on the farm, animals first, each by its own number or name.

    Asked of whatever a hold could reach: treated, in a treated pen, in a pen with something held in it,
    calved of late, held for another reason.
    """
    subjects = _in_question(location, now)
    answers = zip(subjects, sales_of_all(subjects, now), strict=True)
    found = [Held(subject, tuple(sale for sale in sales if not sale.allowed)) for subject, sales in answers]
    return [each for each in found if each.sales]


def _in_question(location: Location, now: datetime) -> list[Subject]:
    """Return whom to ask about, so that a farm of a thousand is not asked one by one."""
    rows = holding_rows(now).filter(treatment__practice=location.practice_id)
    others = OtherHold.objects.filter(Q(ends_at=None) | Q(first_saleable_at__gt=now), location=location)
    animals = _keys(rows, "treatment__animal", location) | _keys(others, "animal", location)
    pens = _keys(rows, "treatment__group", location) | _keys(others, "group", location)
    stays = GroupStay.objects.filter(group__location=location)
    pens |= set(stays.standing().filter(animal__in=animals).values_list("group", flat=True))
    animals |= set(stays.filter(group__in=pens).values_list("animal", flat=True))
    groups = Group.objects.filter(location=location, ended_at=None, pk__in=pens).order_by("name")
    related = ("location", "practice")
    return [*_asked(location, animals, now).select_related(*related), *groups.select_related(*related)]


def _asked(location: Location, held: set[int], now: datetime) -> QuerySet[Animal]:
    """Return the animals that something may hold: under any tag, freshly calved, or not thought of."""
    wanted = Q(pk__in=held) | Q(same_as__in=held) | Q(other_tags__in=held)
    wanted |= Q(calvings__calved_at__gt=now - FRESH_MILK) | Q(Exists(_without_milk_row(now)))
    here = Animal.objects.filter(wanted, location=location, ended_at=None)
    return here.distinct().order_by("farm_number", "tag")


def _keys(rows: QuerySet[Withdrawal] | QuerySet[OtherHold], path: str, location: Location) -> set[int]:
    """Return the keys of the animals or pens of the farm that the rows name."""
    here = rows.filter(**{f"{path}__isnull": False, f"{path}__location": location})
    return set(here.values_list(path, flat=True))


def _without_milk_row(now: datetime) -> QuerySet[Treatment]:
    """Return the treatments of an animal for which nobody has thought of milk."""
    milk = Withdrawal.objects.filter(treatment=OuterRef("pk"), commodity=Commodity.MILK)
    rows = standing_treatments().filter(animal=OuterRef("pk"), last_given_at__gt=now - LOOKED_BACK)
    return rows.filter(~Exists(milk))
