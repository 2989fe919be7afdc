"""Which rules a planned rota breaks, for one person, the join with the rota before it included.

Planned duties are `WORK`, `WORKPLACE` (on call at the practice, in full) and `AT_HOME`. A night on call
at home is planned as rest, since only what is worked of it counts (C-303/98, C-344/19): it breaks neither
daily nor weekly rest unless the set counts it in full (`RuleSet.standby_in_full`).
"""

from collections.abc import Iterable
from datetime import date, tzinfo

from rotas.rest.breaches import Breach, Judged, judge
from rotas.rest.intervals import Duty, Span
from rotas.rest.log import DutyLog
from rotas.rest.rules import Reading, RuleSet

Told = tuple[str, object, object]


def planned_breaches(
    duties: Iterable[Duty],
    rules: RuleSet,
    tz: tzinfo,
    reading: Reading = Reading.GAP,
    *,
    rota: Span,
    known: Span | None = None,
    leave: Iterable[date] = (),
    night_worker: bool = False,
    opted_out: bool = False,
) -> tuple[Breach, ...]:
    """Return what the duties of `rota` break, in order of time.

    `duties` are all of one person's: those of the rota, those before it (17 weeks for the average week,
    five weeks for the rest) and any after it. A breach that is there without the duties of `rota` is not
    the rota's and is left out. `known` bounds the time that `duties` are complete for.
    """
    every = tuple(duties)
    days = frozenset(leave)
    others = tuple(duty for duty in every if not rota.touches(duty.span))

    def found(of: tuple[Duty, ...]) -> tuple[Breach, ...]:
        log = DutyLog(of, tz, rules.standby_in_full, known, days)
        return judge(Judged(log, rules, Reading(reading), night_worker, opted_out))

    already = {_told(breach) for breach in found(others)}
    return tuple(breach for breach in found(every) if _told(breach) not in already)


def _told(breach: Breach) -> Told:
    return breach.rule.rule_id, breach.measured, breach.moment
