"""A long rota in overlapping stretches, each with what is due of everyone by its end.

The stretch looks a week further than what is kept of it, so that no stretch ends in a corner.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from rotas.builder.counts import SHARED, counts, points, weights
from rotas.builder.cover import slots
from rotas.builder.question import Planned, RotaQuestion, Slot

KEPT, AHEAD = timedelta(weeks=4), timedelta(weeks=1)
ONE_DAY = timedelta(days=1)
Due = Mapping[str, Mapping[str, float]]


@dataclass(frozen=True)
class Stretch:
    """The days from `first` to `last` are solved together, and kept as far as `kept_until`."""

    first: date
    kept_until: date
    last: date

    def question(self, whole: RotaQuestion, done: tuple[Planned, ...]) -> RotaQuestion:
        """Return the question of this stretch; what is done stands before it."""
        fixed = tuple(each for each in whole.fixed if self.first <= each.slot.day <= self.last)
        wishes = tuple(each for each in whole.wishes if self.first <= each.day <= self.last)
        return replace(
            whole,
            first_day=self.first,
            last_day=self.last,
            before=(*whole.before, *(each for each in done if each.slot.day < self.first)),
            fixed=fixed,
            wishes=wishes,
        )

    def kept(self, duties: Iterable[Planned]) -> tuple[Planned, ...]:
        """Return what is kept of the duties."""
        return tuple(each for each in duties if self.first <= each.slot.day <= self.kept_until)

    def due(self, whole: RotaQuestion, done: Iterable[Planned]) -> Due:
        """Return count -> person -> points due in this stretch, so that all are even by its end.

        Even against the fair share of the whole rota, of which everyone owes as much by then as they were
        there for; what the stretch holds more or less than that is shared by who is there in it.
        """
        every = slots(whole)
        so_far = [slot for slot in every if slot.day <= self.last]
        here = [slot for slot in so_far if slot.day >= self.first]
        have = counts(whole, (each for each in done if each.slot.day < self.first))
        return {name: _even(whole, name, every, so_far, here, have) for name in SHARED}


def _even(
    whole: RotaQuestion,
    name: str,
    every: Sequence[Slot],
    so_far: Sequence[Slot],
    here: Sequence[Slot],
    have: Mapping[str, Mapping[str, float]],
) -> Mapping[str, float]:
    brought = {person.id: person.history.get(name, 0.0) for person in whole.people}
    all_weights, by_now, now = (weights(whole, part)[name] for part in (every, so_far, here))
    pool = points(whole, name, every) + sum(brought[person] for person in all_weights)
    rate = pool / (sum(all_weights.values()) or 1.0)
    owed = {person: rate * by_now[person] - brought[person] - have[person][name] for person in by_now}
    more = points(whole, name, here) - sum(owed.values())
    there = sum(now.values()) or 1.0
    return {person: owed[person] + more * now.get(person, 0.0) / there for person in owed}


def stretches(question: RotaQuestion) -> Iterator[Stretch]:
    """Yield the stretches in order; a short rest at the end goes with the last one."""
    first = question.first_day
    while first <= question.last_day:
        kept = first + KEPT - ONE_DAY
        if kept + AHEAD >= question.last_day:
            kept = question.last_day
        yield Stretch(first, kept, min(kept + AHEAD, question.last_day))
        first = kept + ONE_DAY
