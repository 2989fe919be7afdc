"""Design limits of a rota: nights in a row, the day clear after them, weekends, the night before leave.

Common practice without a source [cp], to plan by: what was worked in the end is not judged by them. They
speak of first on call alone, so the duties of that role are given apart. How often somebody is on call
beside that (fair shares, second on call, bank holidays) is the rota builder's to count.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta, tzinfo
from functools import cached_property
from itertools import pairwise

from rotas.rest.breaches import Breach
from rotas.rest.intervals import PLANNED, Duty, Span, clip, merge, of_kinds
from rotas.rest.localtime import in_words, local, local_day, nights, shown
from rotas.rest.measure import NIGHT_TIME
from rotas.rest.rules import Measure, Rule, RuleSet
from rotas.rest.season import LAMBING

NOON = time(12)
ONE_DAY = timedelta(days=1)
NIGHTS = "nights first on call in a row"
SPRING_NIGHTS = f"{NIGHTS} in spring with the days worked"
SATURDAY = 5


@dataclass(frozen=True)
class Night:
    """One night first on call, by its evening: on from `start`; `end` is that of the duty that holds it."""

    evening: date
    start: datetime
    end: datetime


Run = Sequence[Night]


@dataclass(frozen=True)
class PlannedNights:
    """The duties of one person and, apart, those of them that are first on call."""

    duties: tuple[Duty, ...]
    first_on: tuple[Span, ...]
    tz: tzinfo
    leave: frozenset[date] = frozenset()
    in_spring: Callable[[date], bool] = LAMBING.holds

    @cached_property
    def nights(self) -> tuple[Night, ...]:
        """The nights first on call in order, one for each evening; 23:00 to 06:00 is night."""
        found = {
            evening: Night(evening, max(duty.start, local(evening, time(0), self.tz)), duty.end)
            for duty in merge(self.first_on)
            for evening, _ in nights(duty, *NIGHT_TIME, self.tz)
        }
        return tuple(found[evening] for evening in sorted(found))

    @cached_property
    def working_days(self) -> frozenset[date]:
        """The local days on which work at the practice begins."""
        return frozenset(local_day(span.start, self.tz) for span in of_kinds(self.duties, PLANNED))

    def worked_between(self, one: Night, other: Night) -> bool:
        """Say whether both nights are in spring with a working day between them."""
        both = self.in_spring(one.evening) and self.in_spring(other.evening)
        return both and one.evening + ONE_DAY == other.evening and other.evening in self.working_days


def night_breaches(planned: PlannedNights, rules: RuleSet) -> Iterator[Breach]:
    """Yield every design limit of the set that the nights pass."""
    for rule in rules.rules:
        if rule.measure in NIGHT_CHECKS:
            yield from NIGHT_CHECKS[rule.measure](rule, planned)


def runs(found: Sequence[Night], joined: Callable[[Night, Night], bool]) -> list[list[Night]]:
    """Return the nights in stretches whose neighbours are joined."""
    grouped = [[night] for night in found[:1]]
    for one, other in pairwise(found):
        if joined(one, other):
            grouped[-1].append(other)
        else:
            grouped.append([other])
    return grouped


def in_a_row(one: Night, other: Night) -> bool:
    """Say whether the second night follows the first."""
    return one.evening + ONE_DAY == other.evening


def first_nights(rule: Rule, planned: PlannedNights) -> Iterator[Breach]:
    """No more nights first on call in a row than the most."""
    for run in runs(planned.nights, in_a_row):
        yield from _too_many(rule, run, planned, NIGHTS)


def first_nights_worked(rule: Rule, planned: PlannedNights) -> Iterator[Breach]:
    """Fewer in spring where the days between the nights are worked as well."""
    for run in runs(planned.nights, planned.worked_between):
        yield from _too_many(
            rule, run, planned, "nights first on call in a row in spring with the days worked"
        )


def _too_many(rule: Rule, run: Run, planned: PlannedNights, what: str) -> Iterator[Breach]:
    most = rule.count
    if len(run) > most:
        over = run[most]
        sentence = (
            f"{len(run)} {what} from {shown(run[0].start, planned.tz)}; {most} is the most ({rule.cited})."
        )
        yield Breach(rule, len(run), most, over.start, sentence)


def clear_after_nights(rule: Rule, planned: PlannedNights) -> Iterator[Breach]:
    """After so many nights first on call in a row, time neither at work nor on call."""
    least = (rule.window or 3 * ONE_DAY).days
    on_duty = merge(duty.span for duty in planned.duties)
    for run in runs(planned.nights, in_a_row):
        end = run[-1].end
        after = clip(on_duty, Span(end, end + rule.amount))
        if len(run) >= least and after:
            clear = after[0].start - end
            sentence = (
                f"After {len(run)} nights first on call to {shown(end, planned.tz)} the time clear of "
                f"duty is {in_words(clear)}; {in_words(rule.amount)} are needed ({rule.cited})."
            )
            yield Breach(rule, clear, rule.amount, after[0].start, sentence)


def first_weekends(rule: Rule, planned: PlannedNights) -> Iterator[Breach]:
    """No more weekends first on call in any so many weeks than the most."""
    window, most = rule.window or timedelta(weeks=3), rule.count
    weekends = list(_weekends(planned))
    for index, (saturday, start) in enumerate(weekends):
        inside = [other for other, _ in weekends[: index + 1] if saturday - other < window]
        if len(inside) > most:
            sentence = (
                f"{len(inside)} weekends first on call in the {window.days // 7} weeks to "
                f"{shown(start, planned.tz)}; {most} is the most ({rule.cited})."
            )
            yield Breach(rule, len(inside), most, start, sentence)


def _weekends(planned: PlannedNights) -> Iterator[tuple[date, datetime]]:
    """Yield the Saturday of every weekend first on call, from its noon on, with the moment it begins.

    So a Friday night that is handed over on Saturday morning is none.
    """
    found: dict[date, datetime] = {}
    for duty in merge(planned.first_on):
        first = local_day(duty.start, planned.tz)
        saturday = first + timedelta(days=SATURDAY - first.weekday())
        while (noon := local(saturday, NOON, planned.tz)) < duty.end:
            if duty.start < local(saturday + 2 * ONE_DAY, time(0), planned.tz):
                found.setdefault(saturday, max(duty.start, noon))
            saturday += timedelta(weeks=1)
    yield from sorted(found.items())


def night_before_leave(rule: Rule, planned: PlannedNights) -> Iterator[Breach]:
    """Nobody is first on call on the last night before their leave."""
    for night in planned.nights:
        if night.evening + ONE_DAY in planned.leave and night.evening not in planned.leave:
            told = f"First on call on {shown(night.start, planned.tz)}, the last night before leave"
            sentence = f"{told} ({rule.cited})."
            yield Breach(rule, 1, rule.count, night.start, sentence)


NIGHT_CHECKS: dict[Measure | None, Callable[[Rule, PlannedNights], Iterator[Breach]]] = {
    Measure.FIRST_NIGHTS: first_nights,
    Measure.FIRST_NIGHTS_WORKED: first_nights_worked,
    Measure.CLEAR_AFTER_NIGHTS: clear_after_nights,
    Measure.FIRST_WEEKENDS: first_weekends,
    Measure.NIGHT_BEFORE_LEAVE: night_before_leave,
}
