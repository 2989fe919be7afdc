"""Duties put in order for judging: by person and by day, with those of the last rota in front."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from functools import cached_property

from rotas.builder.question import DAY, Planned, RotaPerson, RotaQuestion, Slot
from rotas.rest.intervals import Duty, DutyKind, Span
from rotas.rest.localtime import local

ONE_DAY = timedelta(days=1)


@dataclass(frozen=True)
class Sheet:
    """The question with the duties to be judged. What lies in the last rota alone is not judged again."""

    question: RotaQuestion
    duties: tuple[Planned, ...]

    @cached_property
    def begins(self) -> datetime:
        """The first instant of the rota."""
        return self.midnight(self.question.first_day)

    @cached_property
    def span(self) -> Span:
        """The rota from its first midnight to its last."""
        return Span(self.begins, self.midnight(self.question.last_day + ONE_DAY))

    @cached_property
    def of(self) -> dict[str, tuple[Slot, ...]]:
        """Slots by person in order of time, the last rota's included."""
        found: dict[str, list[Slot]] = defaultdict(list)
        for planned in (*self.question.before, *self.duties):
            found[planned.person].append(planned.slot)
        return {
            person: tuple(sorted(mine, key=lambda slot: (slot.start, slot.end)))
            for person, mine in found.items()
        }

    @cached_property
    def on(self) -> dict[date, tuple[Planned, ...]]:
        """The duties of this rota by the day on which they begin."""
        found: dict[date, list[Planned]] = defaultdict(list)
        for planned in self.duties:
            found[planned.slot.day].append(planned)
        return {day: tuple(there) for day, there in found.items()}

    def midnight(self, day: date) -> datetime:
        """Return the instant at which the local day begins."""
        return local(day, time(0), self.question.tz)

    @cached_property
    def _people(self) -> dict[str, RotaPerson]:
        return {person.id: person for person in self.question.people}

    def known(self, person_id: str) -> RotaPerson | None:
        """Return the person of that id; None for a stranger."""
        return self._people.get(person_id)

    def mine(self, person: RotaPerson) -> tuple[Slot, ...]:
        """Return the person's slots in order."""
        return self.of.get(person.id, ())


def runs(days: Sequence[date]) -> list[list[date]]:
    """Return the days, which are in order, as runs of days that follow one another."""
    found: list[list[date]] = []
    for day in days:
        if found and day - found[-1][-1] == ONE_DAY:
            found[-1].append(day)
        else:
            found.append([day])
    return found


def rest_duties(slots: Iterable[Slot]) -> tuple[Duty, ...]:
    """Return the slots as the rest rules know them: on call at home, at the workplace, or work."""
    return tuple(Duty(slot.start, slot.end, _kind(slot)) for slot in slots)


def _kind(slot: Slot) -> DutyKind:
    if slot.role == DAY:
        return DutyKind.WORK
    return DutyKind.WORKPLACE if slot.at_workplace else DutyKind.AT_HOME
