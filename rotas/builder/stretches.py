"""A long rota in overlapping stretches, solved one after the other.

The stretch looks a week further than what is kept of it, so that no stretch ends in a corner.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta

from rotas.builder.question import Planned, RotaQuestion

KEPT, AHEAD = timedelta(weeks=4), timedelta(weeks=1)
ONE_DAY = timedelta(days=1)


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


def stretches(question: RotaQuestion) -> Iterator[Stretch]:
    """Yield the stretches in order; a short rest at the end goes with the last one."""
    first = question.first_day
    while first <= question.last_day:
        kept = first + KEPT - ONE_DAY
        if kept + AHEAD >= question.last_day:
            kept = question.last_day
        yield Stretch(first, kept, min(kept + AHEAD, question.last_day))
        first = kept + ONE_DAY
