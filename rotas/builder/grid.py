"""A rota question as days and shift types, the shape that the roster core knows.

A kind is a role at a site ("first", "day@north", "first#2" for the second such slot of a day). A shift
type is what one person may work on one day: one kind, or a day's work and the night on call after it.
The days of the last rota that matter for the join stand in front, fixed.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cached_property
from itertools import pairwise, product

from rotas.builder.cover import slots_on
from rotas.builder.question import DAY, FIRST, ON_CALL, SECOND, Planned, RotaPerson, RotaQuestion, Slot, Wish
from rotas.builder.roster import Cell, Roster
from rotas.builder.sheet import rest_duties
from rotas.rest.planned import planned_breaches
from rotas.rest.rules import Measure

ROLES_IN_DAY = (DAY, FIRST, SECOND)
JOIN_DAYS = 21  # of the last rota: three weekends, the longest run of nights
SHORT = frozenset({Measure.DAILY_REST, Measure.PLANNED_DUTY, Measure.DUTY_SPAN, Measure.ON_CALL_TOTAL_REST})


def role_of(kind: str) -> str:
    """Return the role of the kind."""
    return kind.split("#")[0].split("@")[0]


def kinds_of(shift: str) -> tuple[str, ...]:
    """Return the kinds that the shift type is made of."""
    return tuple(shift.split("+"))


def roles_of(shift: str) -> frozenset[str]:
    """Return the roles that the shift type is made of."""
    return frozenset(role_of(kind) for kind in kinds_of(shift))


def nights_of(shift: str) -> frozenset[str]:
    """Return the kinds on call that the shift type holds."""
    return frozenset(kind for kind in kinds_of(shift) if role_of(kind) in ON_CALL)


def kinds_on(slots: Iterable[Slot]) -> dict[str, Slot]:
    """Return the kinds of one day's slots; slots for several people are one kind."""
    found: dict[str, Slot] = {}
    seen: dict[str, int] = defaultdict(int)
    for slot in dict.fromkeys(slots):
        base = f"{slot.role}@{slot.site}" if slot.site else slot.role
        seen[base] += 1
        found[base if seen[base] == 1 else f"{base}#{seen[base]}"] = slot
    return found


@dataclass(frozen=True)
class Grid:
    """The question on numbered days. Day `past` is the first day of the rota."""

    question: RotaQuestion
    given: Mapping[tuple[str, int], str] = field(default_factory=dict)  # what stands, off where missing
    free: frozenset[int] | None = None  # the days that may change; None: all of the rota
    nights: Mapping[tuple[str, int], frozenset[str]] | None = None  # who is on call, where that is settled

    @cached_property
    def past(self) -> int:
        """How many days of the last rota stand in front."""
        return JOIN_DAYS if self.question.before else 0

    @cached_property
    def first_day(self) -> date:
        """The date of day 0."""
        return self.question.first_day - timedelta(days=self.past)

    @cached_property
    def days(self) -> int:
        """The number of days, the past ones included."""
        return (self.question.last_day - self.first_day).days + 1

    def date_of(self, day: int) -> date:
        """Return the date of the day."""
        return self.first_day + timedelta(days=day)

    def number(self, day: date) -> int:
        """Return the number of the date."""
        return (day - self.first_day).days

    @cached_property
    def new(self) -> range:
        """The days of the rota itself."""
        return range(self.past, self.days)

    def is_free(self, day: int) -> bool:
        """Say whether the day may be decided."""
        return day >= self.past and (self.free is None or day in self.free)

    @cached_property
    def slots(self) -> dict[int, dict[str, Slot]]:
        """Day -> kind -> slot, for the days of the rota."""
        return {day: kinds_on(slots_on(self.question, self.date_of(day))) for day in self.new}

    def wanted(self, day: int, kind: str) -> int:
        """Return how many people are wanted."""
        return slots_on(self.question, self.date_of(day)).count(self.slots[day][kind])

    def asked(self, day: int, kind: str) -> int:
        """Return how many people the day is to have: where a rota stands, no more than it had."""
        wanted = self.wanted(day, kind)
        if self.free is None:
            return wanted
        had = sum(1 for (_, at), shift in self.standing.items() if at == day and kind in kinds_of(shift))
        return min(wanted, had)

    @cached_property
    def shifts(self) -> dict[int, tuple[str, ...]]:
        """Day -> the shift types that may be worked on it."""
        return {day: tuple(self._shifts(slots)) for day, slots in self.slots.items()}

    def _shifts(self, slots: Mapping[str, Slot]) -> Iterator[str]:
        yield from slots
        work = [kind for kind in slots if role_of(kind) == DAY]
        nights = [kind for kind in slots if role_of(kind) in ON_CALL]
        for day, night in product(work, nights):
            if not self.clash(slots[day], slots[night]):
                yield f"{day}+{night}"

    def clash(self, *slots: Slot) -> bool:
        """Say whether one person may not have these slots: they overlap, or leave too little rest."""
        in_order = sorted(slots, key=lambda slot: slot.start)
        if any(after.start < before.end for before, after in pairwise(in_order)):
            return True
        return bool(self._rest_broken(tuple(in_order)))

    def _rest_broken(self, slots: tuple[Slot, ...]) -> bool:
        """Judged once for slots that lie the same way to one another."""
        start = slots[0].start
        key = tuple((s.start - start, s.end - start, s.role, s.at_workplace) for s in slots)
        if key not in self._judged:
            rules, span = self.question.rules, slots[0].span
            found = planned_breaches(
                rest_duties(slots),
                rules.rest.only(SHORT),
                self.question.tz,
                rules.reading,
                rota=type(span)(span.start, slots[-1].end),
            )
            self._judged[key] = bool(found)
        return self._judged[key]

    @cached_property
    def _judged(self) -> dict[tuple[object, ...], bool]:
        return {}

    @cached_property
    def next_clashes(self) -> tuple[tuple[int, str, str], ...]:
        """What `clashes` finds."""
        return tuple(self.clashes())

    def clashes(self) -> Iterator[tuple[int, str, str]]:
        """Yield (day, type, type of the next day) that one person may not have together."""
        for day in self.new[:-1]:
            for first, then in product(self.shifts[day], self.shifts[day + 1]):
                slots = [self.slots[day][kind] for kind in kinds_of(first)]
                slots += [self.slots[day + 1][kind] for kind in kinds_of(then)]
                if self.clash(*slots):
                    yield day, first, then

    @cached_property
    def standing(self) -> dict[tuple[str, int], str]:
        """What stands: the past, and of the rota the days that may not change."""
        stands = dict(shifts_of(self.question.before, self.number))
        stands.update(self.given)
        return {(who, day): shift for (who, day), shift in stands.items() if 0 <= day < self.days}

    @cached_property
    def types(self) -> tuple[str, ...]:
        """Every shift type, those that only the standing duties have included."""
        found = dict.fromkeys(shift for day in self.new for shift in self.shifts[day])
        found.update(dict.fromkeys(self.standing.values()))
        return tuple(found)

    def may(self, person: RotaPerson, day: int, shift: str) -> bool:
        """Say whether the person may work the type on the day, looked at alone."""
        if not self.is_free(day):
            return self.standing.get((person.id, day)) == shift
        return (
            shift in self.shifts[day] and self._settled(person, day, shift) and self._fits(person, day, shift)
        )

    def _settled(self, person: RotaPerson, day: int, shift: str) -> bool:
        if self.nights is None:
            return True
        return self.nights.get((person.id, day), frozenset()) == nights_of(shift)

    def _fits(self, person: RotaPerson, day: int, shift: str) -> bool:
        on = self.date_of(day)
        return (
            person.here(on)
            and on not in person.leave
            and all(
                role in person.roles and not any(rule.stops(on, role) for rule in person.not_on)
                for role in roles_of(shift)
            )
            and not (FIRST in roles_of(shift) and self._before_leave(person, on))
            and not any(_against(wish, on, shift) for wish in self._firm.get(person.id, ()))
            and self._agreed(person, day, shift)
        )

    def _before_leave(self, person: RotaPerson, on: date) -> bool:
        limit = self.question.rules.judged_by.one(Measure.NIGHT_BEFORE_LEAVE)
        return limit is not None and on + timedelta(days=1) in person.leave

    @cached_property
    def _firm(self) -> dict[str, list[Wish]]:
        found: dict[str, list[Wish]] = defaultdict(list)
        for wish in self.question.wishes:
            if wish.firm and not wish.wants:
                found[wish.person].append(wish)
        return found

    def _agreed(self, person: RotaPerson, day: int, shift: str) -> bool:
        """What was agreed for the person on the day is part of what they work."""
        return self.agreed.get((person.id, day), frozenset()) <= frozenset(kinds_of(shift))

    @cached_property
    def agreed(self) -> dict[tuple[str, int], frozenset[str]]:
        """(person, day) -> kinds that are agreed."""
        found: dict[tuple[str, int], set[str]] = defaultdict(set)
        for fixed in self.question.fixed:
            day = self.number(fixed.slot.day)
            for kind, slot in self.slots.get(day, {}).items():
                if slot == fixed.slot:
                    found[fixed.person, day].add(kind)
        return {cell: frozenset(kinds) for cell, kinds in found.items()}

    @cached_property
    def cells(self) -> dict[tuple[str, int], tuple[Cell, ...]]:
        """(person, day) -> the cells that may be worked."""
        return {
            (person.id, day): tuple(
                (person.id, day, shift) for shift in self._possible(day) if self.may(person, day, shift)
            )
            for person in self.question.people
            for day in range(self.days)
        }

    def _possible(self, day: int) -> Iterable[str]:
        return self.shifts[day] if self.is_free(day) else self.types

    def having(self, person: str, day: int, roles: Iterable[str]) -> tuple[Cell, ...]:
        """Return the person's cells of the day whose type holds one of the roles; none outside the grid."""
        wanted = frozenset(roles)
        return tuple(cell for cell in self.cells.get((person, day), ()) if wanted & roles_of(cell[2]))

    def shifts_of(self, duties: Iterable[Planned]) -> dict[tuple[str, int], str]:
        """Return the duties of the rota's days as (person, day) -> type; a cut one is of its slot's kind."""
        found: dict[tuple[str, int], set[str]] = defaultdict(set)
        for planned in duties:
            day = self.number(planned.slot.day)
            if kind := self._kind(day, planned.slot):
                found[planned.person, day].add(kind)
        return {cell: self._joined(kinds) for cell, kinds in found.items()}

    def _kind(self, day: int, given: Slot) -> str | None:
        for kind, slot in self.slots.get(day, {}).items():
            same = (given.role, given.site) == (slot.role, slot.site)
            if same and slot.start <= given.start and given.end <= slot.end:
                return kind
        return None

    def _joined(self, kinds: Iterable[str]) -> str:
        return "+".join(sorted(kinds, key=lambda kind: (ROLES_IN_DAY.index(role_of(kind)), kind)))

    def roster_of(self, duties: Iterable[Planned]) -> Roster:
        """Return the duties as a roster, with what stands in front."""
        return Roster({**self.standing, **self.shifts_of(duties)})

    def duties(self, roster: Roster) -> tuple[Planned, ...]:
        """Return the roster's duties of the days of the rota."""
        found = (
            Planned(who, self.slots[day][kind])
            for (who, day), shift in roster.shifts.items()
            if day >= self.past
            for kind in kinds_of(shift)
            if kind in self.slots[day]
        )
        return tuple(sorted(found, key=lambda planned: (planned.slot, planned.person)))


def _against(wish: Wish, on: date, shift: str) -> bool:
    return wish.day == on and (wish.role is None or wish.role in roles_of(shift))


def shifts_of(
    duties: Iterable[Planned], number: Callable[[date], int]
) -> Iterator[tuple[tuple[str, int], str]]:
    """Yield ((person, day), type) of duties; several of one day are one type."""
    found: dict[tuple[str, int], set[str]] = defaultdict(set)
    for planned in duties:
        slot = planned.slot
        found[planned.person, number(slot.day)].add(f"{slot.role}@{slot.site}" if slot.site else slot.role)
    for cell, kinds in found.items():
        yield cell, "+".join(sorted(kinds))
