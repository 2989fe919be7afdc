"""Which rules a planned rota breaks, for one person, the join with the rota before it included.

Planned duties are `WORK`, `WORKPLACE` (on call at the practice, in full) and `AT_HOME`. A night on call
at home is planned as rest, since only what is worked of it counts (C-303/98, C-344/19): it breaks neither
daily nor weekly rest unless the set counts it in full (`RuleSet.standby_in_full`). What calls then cost
is judged as they are worked.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import date, tzinfo

from rotas.rest.breaches import Breach, Judged, judge
from rotas.rest.intervals import Duty, Span
from rotas.rest.log import DutyLog
from rotas.rest.nights_planned import PlannedNights, night_breaches
from rotas.rest.rules import Reading, RuleSet
from rotas.rest.season import LAMBING

Duties = tuple[Duty, ...]


def planned_breaches(
    duties: Iterable[Duty],
    rules: RuleSet,
    tz: tzinfo,
    reading: Reading = Reading.GAP,
    *,
    rota: Span,
    first_on: Iterable[Span] = (),
    known: Span | None = None,
    leave: Iterable[date] = (),
    in_spring: Callable[[date], bool] = LAMBING.holds,
    night_worker: bool | None = None,
    opted_out: bool = False,
) -> tuple[Breach, ...]:
    """Return what the duties of `rota` break, in order of time.

    `duties` are all of one person's: those of the rota, those before it (17 weeks for the average week,
    five weeks for the rest) and any after it. A breach that is there without the duties that begin in
    `rota` is not the rota's and is left out. `first_on` are those of the duties that are first on call,
    for the design limits; without them only the rest rules are judged. `known` bounds the time that
    `duties` are complete for.
    """
    judged = _Planned(
        rules, tz, Reading(reading), rota, known, frozenset(leave), in_spring, night_worker, opted_out
    )
    every, first = tuple(duties), tuple(first_on)
    others = tuple(duty for duty in every if not _begins_in(rota, duty.span))
    others_first = tuple(span for span in first if not _begins_in(rota, span))
    already = {_told(breach) for breach in judged.breaches(others, others_first)} if others else set()
    found = (breach for breach in judged.breaches(every, first) if _told(breach) not in already)
    return tuple(sorted(found, key=lambda breach: (breach.moment, breach.rule.rule_id)))


@dataclass(frozen=True)
class _Planned:
    """What every look at the same rota shares."""

    rules: RuleSet
    tz: tzinfo
    reading: Reading
    rota: Span
    known: Span | None
    leave: frozenset[date]
    in_spring: Callable[[date], bool]
    night_worker: bool | None
    opted_out: bool

    def breaches(self, duties: Duties, first_on: tuple[Span, ...]) -> Iterator[Breach]:
        log = DutyLog(duties, self.tz, self.rules.standby_in_full, self.known, self.leave)
        yield from judge(
            Judged(log, self.rules, self.reading, self.night_worker, self.opted_out, within=self.rota)
        )
        nights = PlannedNights(duties, first_on, self.tz, self.leave, self.in_spring)
        yield from night_breaches(nights, self.rules)


def _begins_in(rota: Span, span: Span) -> bool:
    return rota.start <= span.start < rota.end


def _told(breach: Breach) -> tuple[object, ...]:
    return breach.rule.rule_id, breach.measured, breach.moment
