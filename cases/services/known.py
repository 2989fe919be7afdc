"""What is on record of animals and pens, read once for as many of them as a question is about.

A few queries, whatever their number: each kind of fact is read for all of them together, and when it is
first needed. Nothing is judged here; `held` and `selling` do that, on these facts alone. To be thrown
away once anything has been written.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable
from datetime import datetime, timedelta
from functools import cached_property
from typing import TypeVar

from django.db.models import Exists, Model, OuterRef, Q, QuerySet

from cases.models import (
    Animal,
    AnimalEnd,
    Calving,
    Commodity,
    Group,
    GroupStay,
    OtherHold,
    Treatment,
    Withdrawal,
    WithdrawalState,
)
from cases.services.herd_facts import all_known, calvings_under, standing_treatments, tags_of

HOLDING = (WithdrawalState.RUNNING, WithdrawalState.NEEDS_VET, WithdrawalState.NOT_FOR_USE)

LOOKED_BACK = timedelta(days=400)
"""A treatment this old whose period nobody has worked out is asked about no more. [cp]"""

Subject = Animal | Group
Row = TypeVar("Row", bound=Model)


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


class Known:
    """The facts about some animals and pens, for questions about some moments (None: now, whoever stands).

    Asked about others, or about a moment outside of the first and the last one, it raises an error: what
    was not read must never look as if it were not there.
    """

    def __init__(self, subjects: Iterable[Subject], moments: Iterable[datetime | None]) -> None:
        asked, known = list(subjects), [moment for moment in moments if moment is not None]
        self.animals = [each for each in asked if isinstance(each, Animal)]
        self.pens = [each for each in asked if isinstance(each, Group)]
        self.span = (min(known), max(known)) if known else None
        self.said: dict[tuple[str, int], str] = {}
        self.in_pen: dict[tuple[int, datetime | None], list[Withdrawal]] = {}

    def require(self, at: datetime | None) -> None:
        """Refuse a moment for which nobody has read who stood where."""
        if not self.reaches(at):
            raise ValueError(f"What stood where at {at} was not read. Name that moment beforehand.")

    def reaches(self, at: datetime | None) -> bool:
        """Say whether it was read who stood where at the moment."""
        return at is None or (self.span is not None and self.span[0] <= at <= self.span[1])

    def covers(self, subject: Subject) -> bool:
        """Say whether the facts were read for this one."""
        if isinstance(subject, Group):
            return subject.pk in self.asked_pens
        return _first_tag(subject) in self._own_tags

    @cached_property
    def asked_pens(self) -> set[int]:
        """The pens that are asked about themselves."""
        return {pen.pk for pen in self.pens}

    # tags and stays

    def keys(self, animal: Animal) -> list[int]:
        """Return the keys of an animal under all its tags."""
        first = _first_tag(animal)
        return self._own_tags[first] if first in self._own_tags else self._tags[first]

    def stays(self, animal: Animal) -> list[GroupStay]:
        """Return every stay of an animal, under any of its tags, each with its pen."""
        stays = self._own_stays if _first_tag(animal) in self._own_tags else self._stays
        return [stay for key in self.keys(animal) for stay in stays[key]]

    def standing_in(self, pen: Group, at: datetime | None) -> list[GroupStay]:
        """Return who stands in a pen, by tag: one that is asked about, or where an identity is unknown."""
        self.require(at)
        return [stay for stay in self._inside[pen.pk] if stay.stands(at)]

    def is_identified(self, pen: Group) -> bool:
        """Say whether every animal in the pen is known."""
        return all_known(pen, self._heads[pen.pk])

    @cached_property
    def _own_tags(self) -> dict[int, list[int]]:
        return tags_of(self.animals)

    @cached_property
    def _own_stays(self) -> dict[int, list[GroupStay]]:
        return _stays_of({key for keys in self._own_tags.values() for key in keys})

    @cached_property
    def _standing_pens(self) -> dict[int, Group]:
        """The pens in which one that is asked about stands at such a moment."""
        stays = (stay for found in self._own_stays.values() for stay in found)
        return {stay.group_id: stay.group for stay in stays if self._matters(stay)}

    def _matters(self, stay: GroupStay) -> bool:
        return stay.stands(None) or (self.span is not None and stay.during(*self.span))

    @cached_property
    def _heads(self) -> dict[int, int]:
        """How many are on record as standing in each pen in question now."""
        pens = self._standing_pens.keys() | self.asked_pens
        if not pens:
            return {}
        stays = GroupStay.objects.standing().filter(group__in=pens).values_list("group", flat=True)
        return {pen: 0 for pen in pens} | Counter(stays)

    @cached_property
    def _inside(self) -> dict[int, list[GroupStay]]:
        """Who stands in the pens that are asked about, and in those where one that is asked about may be
        taken for another."""
        unknown = {key for key, pen in self._standing_pens.items() if not self.is_identified(pen)}
        pens = unknown | self.asked_pens
        found: dict[int, list[GroupStay]] = {pen: [] for pen in pens}
        if pens:
            for stay in _standing(self.span).filter(group__in=pens):
                found[stay.group_id].append(stay)
        return found

    @cached_property
    def _neighbours(self) -> list[Animal]:
        return [stay.animal for stays in self._inside.values() for stay in stays]

    @cached_property
    def _tags(self) -> dict[int, list[int]]:
        own = self._own_tags
        return own | tags_of(each for each in self._neighbours if _first_tag(each) not in own)

    @cached_property
    def _stays(self) -> dict[int, list[GroupStay]]:
        own = self._own_stays
        return own | _stays_of({key for keys in self._tags.values() for key in keys} - own.keys())

    @cached_property
    def _all_pens(self) -> set[int]:
        """Every pen of which a treatment may have reached one of them."""
        return {stay.group_id for stays in self._stays.values() for stay in stays} | self._inside.keys()

    # what holds

    def rows_for(self, animals: Iterable[Animal], pens: Iterable[int] = ()) -> list[Withdrawal]:
        """Return what holds, of treatments that named these animals or any pen they ever stood in."""
        return [row for key in self._named(animals, pens) for row in self._rows[key]]

    def treatments_for(self, animals: Iterable[Animal], pens: Iterable[int] = ()) -> list[Treatment]:
        """Return the standing treatments of them for which some commodity was not thought of."""
        return [row for key in self._named(animals, pens) for row in self._not_thought_of[key]]

    def others_for(self, keys: Iterable[int], pens: Iterable[int]) -> list[OtherHold]:
        """Return what else holds these animals, by key, and pens."""
        named = {(Animal, key) for key in keys} | {(Group, key) for key in pens}
        return [row for key in named for row in self._others[key]]

    def _named(self, animals: Iterable[Animal], pens: Iterable[int]) -> set[tuple[type, int]]:
        found: set[tuple[type, int]] = {(Group, key) for key in pens}
        for animal in animals:
            found |= {(Animal, key) for key in self.keys(animal)}
            found |= {(Group, stay.group_id) for stay in self.stays(animal)}
        return found

    def _reached(self, prefix: str = "") -> Q:
        """Return what may concern any of them; who was reached in truth is judged on the facts."""
        return Q(**{f"{prefix}animal__in": self._stays.keys()}) | Q(**{f"{prefix}group__in": self._all_pens})

    @cached_property
    def _rows(self) -> dict[tuple[type, int], list[Withdrawal]]:
        rows = holding_rows().filter(self._reached("treatment__"))
        return _by_subject((row.treatment, row) for row in rows)

    @cached_property
    def _others(self) -> dict[tuple[type, int], list[OtherHold]]:
        return _by_subject((row, row) for row in other_rows().filter(self._reached()))

    @cached_property
    def _not_thought_of(self) -> dict[tuple[type, int], list[Treatment]]:
        assert self.span is not None
        own = Withdrawal.objects.filter(treatment=OuterRef("pk"))
        without = {f"without_{what.value}": ~Exists(own.filter(commodity=what)) for what in Commodity}
        missing = Q(without_milk=True) | Q(without_meat=True) | Q(without_eggs=True)
        rows = standing_treatments().filter(self._reached(), last_given_at__gt=self.span[0] - LOOKED_BACK)
        rows = rows.annotate(**without).filter(missing).select_related("medicine")
        return _by_subject((row, row) for row in rows)

    # pens of the farm that were treated while nobody wrote who stood there

    @cached_property
    def treated_pens(self) -> dict[int, list[Withdrawal]]:
        """What holds by a treatment of a pen, by the farm on which it was given, the first first."""
        farms = {animal.location_id for animal in self.animals}
        rows = holding_rows().filter(treatment__location__in=farms, treatment__group__isnull=False)
        found: dict[int, list[Withdrawal]] = defaultdict(list)
        for row in rows.order_by("pk"):
            found[row.treatment.location_id].append(row)
        return found

    @cached_property
    def courses(self) -> dict[int, list[GroupStay]]:
        """Who stood in each of these pens while any of their courses ran."""
        treatments = [row.treatment for rows in self.treated_pens.values() for row in rows]
        pens = {each.group_id for each in treatments if each.group and each.group.all_identified}
        found: dict[int, list[GroupStay]] = defaultdict(list)
        if pens:
            last = max(each.last_given_at for each in treatments)
            for stay in GroupStay.objects.filter(group__in=pens, from_at__lte=last):
                found[stay.group_id].append(stay)
        return found

    # calvings and ends

    def calvings(self, animal: Animal) -> list[Calving]:
        """Return the calvings that stand of one that is asked about, under any tag, the first first."""
        found = [row for key in self.keys(animal) for row in self._calvings[key]]
        return sorted(found, key=lambda row: (row.calved_at, row.pk))

    def ends(self, animal: Animal) -> list[AnimalEnd]:
        """Return how one that is asked about left, under any of its tags."""
        return [row for key in self.keys(animal) for row in self._ends[key]]

    @cached_property
    def _calvings(self) -> dict[int, list[Calving]]:
        return _by_animal(calvings_under(self._own_stays), self._own_stays)

    @cached_property
    def _ends(self) -> dict[int, list[AnimalEnd]]:
        rows = AnimalEnd.objects.filter(animal__in=self._own_stays.keys(), undone_at=None).order_by("pk")
        return _by_animal(rows, self._own_stays)


def _first_tag(animal: Animal) -> int:
    return animal.same_as_id or animal.pk


def _stays_of(keys: set[int]) -> dict[int, list[GroupStay]]:
    rows = GroupStay.objects.filter(animal__in=keys).select_related("group") if keys else ()
    return _by_animal(rows, keys)


def _standing(span: tuple[datetime, datetime] | None) -> QuerySet[GroupStay]:
    """Return who stands there now or stood there at some moment of the span, by tag."""
    wanted = Q(until_at=None)
    if span is not None:
        wanted |= Q(from_at__lte=span[1], until_at__gt=span[0])
    return GroupStay.objects.filter(wanted).select_related("animal__location").order_by("animal__tag")


def _by_animal(rows: Iterable[Row], keys: Iterable[int]) -> dict[int, list[Row]]:
    """Return the rows by animal, an empty list for each that has none, and nothing for any other."""
    found: dict[int, list[Row]] = {key: [] for key in keys}
    for row in rows:
        found[row.animal_id].append(row)  # type: ignore[attr-defined]  # every one of them has an animal
    return found


def _by_subject(
    pairs: Iterable[tuple[Treatment | OtherHold, Row]],
) -> dict[tuple[type, int], list[Row]]:
    """Return rows by the animal or pen that was treated or is held."""
    found: dict[tuple[type, int], list[Row]] = defaultdict(list)
    for whose, row in pairs:
        key = (Animal, whose.animal_id) if whose.animal_id is not None else (Group, whose.group_id or 0)
        found[key].append(row)
    return found
