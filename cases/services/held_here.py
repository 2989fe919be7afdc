"""What is held at one farm now: every animal and every pen, with the answer that everything shows."""

from dataclasses import dataclass
from datetime import datetime

from django.db.models import Q, QuerySet

from cases.models import Animal, Group, GroupStay, Location, OtherHold, Withdrawal
from cases.services.held import holding_rows
from cases.services.selling import LOOKED_BACK, Sale, sales_of

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
    found = [Held(subject, _held(subject, now)) for subject in _in_question(location, now)]
    return [each for each in found if each.sales]


def _held(subject: Subject, now: datetime) -> tuple[Sale, ...]:
    return tuple(sale for sale in sales_of(subject, now) if not sale.allowed)


def _in_question(location: Location, now: datetime) -> list[Subject]:
    """Return whom to ask about, so that a farm of a thousand is not asked one by one."""
    rows = holding_rows(now).filter(treatment__practice=location.practice_id)
    others = OtherHold.objects.filter(location=location).filter(
        Q(ends_at=None) | Q(first_saleable_at__gt=now)
    )
    animals = set(
        rows.filter(treatment__animal__location=location).values_list("treatment__animal", flat=True)
    )
    animals |= set(others.filter(animal__isnull=False).values_list("animal", flat=True))
    pens = set(rows.filter(treatment__group__location=location).values_list("treatment__group", flat=True))
    pens |= set(others.filter(group__isnull=False).values_list("group", flat=True))
    stays = GroupStay.objects.filter(group__location=location)
    pens |= set(stays.standing().filter(animal__in=animals).values_list("group", flat=True))
    animals |= set(stays.filter(group__in=pens).values_list("animal", flat=True))
    here = Animal.objects.filter(location=location, ended_at=None)
    recent = Q(treatments__last_given_at__gt=now - LOOKED_BACK) | Q(calvings__calved_at__gt=now - LOOKED_BACK)
    asked = here.filter(Q(pk__in=animals) | recent).distinct().order_by("farm_number", "tag")
    groups = Group.objects.filter(location=location, ended_at=None, pk__in=pens).order_by("name")
    related = ("location", "practice")
    return [*asked.select_related(*related), *groups.select_related(*related)]


def _keys(rows: QuerySet[Withdrawal] | QuerySet[OtherHold], path: str, location: Location) -> set[int]:
    """Return the keys of the animals or pens of the farm that the rows name."""
    here = rows.filter(**{f"{path}__isnull": False, f"{path}__location": location})
    return set(here.values_list(path, flat=True))
