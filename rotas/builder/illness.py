"""Who cannot work, in which time, and the rota as it stood and as it stands after moves."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cached_property

from rotas.builder.checking import check, moved
from rotas.builder.cover import slots_on
from rotas.builder.person_rules import on
from rotas.builder.question import Broken, CoverPattern, Move, NotOn, Planned, RotaPerson, RotaQuestion, Slot
from rotas.builder.sheet import ONE_DAY
from rotas.rest.intervals import Span
from rotas.rest.localtime import clock, local_day

NEAR = timedelta(days=35)
ABOUT_COVER = frozenset({"cover", "skill_cover", "agreed", "firm_wish"})


@dataclass(frozen=True)
class Illness:
    """Somebody cannot work in `span`; why is nobody's business."""

    question: RotaQuestion
    duties: tuple[Planned, ...]
    person: str
    span: Span

    @cached_property
    def hits(self) -> tuple[Planned, ...]:
        """The duties that need somebody else."""
        return tuple(
            each for each in self.duties if each.person == self.person and each.slot.span.touches(self.span)
        )

    @cached_property
    def days(self) -> tuple[date, ...]:
        """The days on which those duties begin."""
        return tuple(sorted({planned.slot.day for planned in self.hits}))

    def name(self, person: str | None) -> str:
        """Return the person's name."""
        return self.question.person(person).name if person is not None else "nobody"

    def open(self, slot: Slot) -> Slot:
        """Return the slot from the moment on, where it is under way."""
        return replace(slot, start=max(slot.start, self.span.start))

    @cached_property
    def afterwards(self) -> RotaQuestion:
        """The question without the person on the duties that they cannot work, nor on others in that time."""
        hits = frozenset(self.hits)
        people = tuple(
            self._without(person) if person.id == self.person else person for person in self.question.people
        )
        fixed = tuple(each for each in self.question.fixed if Planned(each.person, each.slot) not in hits)
        wishes = tuple(each for each in self.question.wishes if each.person != self.person)
        return replace(self.question, people=people, fixed=fixed, wishes=wishes)

    def _without(self, person: RotaPerson) -> RotaPerson:
        return replace(person, not_on=(*person.not_on, *self._not_on()))

    def _not_on(self) -> Iterator[NotOn]:
        day = local_day(self.span.start, self.question.tz) - 2 * ONE_DAY
        while day <= local_day(self.span.end, self.question.tz):
            for slot in slots_on(self.question, day):
                if slot.span.touches(self.span):
                    yield NotOn(roles=frozenset({slot.role}), first_day=day, last_day=day)
            day += ONE_DAY

    def cut(self, moves: Iterable[Move]) -> tuple[Planned, ...]:
        """Return the duties as they stood, those under way that change hands cut in two."""
        parted = {(move.person_from, move.slot) for move in moves}
        return tuple(part for planned in self.duties for part in self._parts(planned, parted))

    def _parts(self, planned: Planned, parted: set[tuple[str | None, Slot]]) -> tuple[Planned, ...]:
        later = self.open(planned.slot)
        if later == planned.slot or (planned.person, later) not in parted:
            return (planned,)
        worked = replace(planned.slot, end=self.span.start)
        return (Planned(planned.person, worked), Planned(planned.person, later))

    def after(self, moves: Iterable[Move]) -> tuple[Planned, ...]:
        """Return the duties after the moves."""
        moves = tuple(moves)
        return moved(self.cut(moves), moves)

    def near(self, question: RotaQuestion) -> RotaQuestion:
        """Return the question cut down to the weeks round the duties that need somebody else."""
        if not self.days:
            return replace(question, last_day=question.first_day)
        first, last = (
            max(question.first_day, self.days[0] - NEAR),
            min(question.last_day, self.days[-1] + NEAR),
        )
        earlier = tuple(each for each in self.duties if each.slot.day < first)
        fixed = tuple(each for each in question.fixed if first <= each.slot.day <= last)
        return replace(
            question, first_day=first, last_day=last, before=(*question.before, *earlier), fixed=fixed
        )

    def near_duties(self, duties: Iterable[Planned]) -> tuple[Planned, ...]:
        """Return the duties of those weeks."""
        near = self.near(self.question)
        return tuple(each for each in duties if near.first_day <= each.slot.day <= near.last_day)

    def told(self, slot: Slot) -> str:
        """Return the slot in words, with the hour from which somebody else has it."""
        from_ = f" from {clock(slot.start, self.question.tz)}" if slot.start == self.span.start else ""
        return f"{on(slot)}{from_}"

    @cached_property
    def _known(self) -> frozenset[tuple[str, str | None, str]]:
        return frozenset(
            _told(each) for each in check(self.near(self.question), self.near_duties(self.duties))
        )

    def newly_broken(self, moves: Iterable[Move]) -> tuple[Broken, ...]:
        """Return the rules that the moves break and that were kept before; missing cover is told as a gap."""
        after = check(self.near(self.afterwards), self.near_duties(self.after(moves)))
        return tuple(
            each
            for each in after
            if each.rule not in ABOUT_COVER
            and each.moment >= self.span.start
            and _told(each) not in self._known
        )


def with_odd_cover(question: RotaQuestion, duties: Iterable[Planned]) -> RotaQuestion:
    """Return the question with the cover that duties were given beside its patterns, each for its own day.

    A rota that is out may hold duties of hours that are not asked for any more; they need somebody too.
    """
    odd = {planned.slot for planned in duties if not _asked_for(question, planned.slot)}
    return replace(question, cover=(*question.cover, *(_only_on(question, slot) for slot in sorted(odd))))


def _asked_for(question: RotaQuestion, given: Slot) -> bool:
    return any(
        (given.role, given.site) == (slot.role, slot.site)
        and slot.start <= given.start
        and given.end <= slot.end
        for slot in slots_on(question, given.day)
    )


def _only_on(question: RotaQuestion, slot: Slot) -> CoverPattern:
    starts, ends = (moment.astimezone(question.tz).time() for moment in (slot.start, slot.end))
    return CoverPattern(
        slot.role,
        frozenset({slot.day.weekday()}),
        starts,
        ends,
        site=slot.site,
        at_workplace=slot.at_workplace,
        first_day=slot.day,
        last_day=slot.day,
    )


def _told(broken: Broken) -> tuple[str, str | None, str]:
    return broken.rule, broken.person, broken.sentence
