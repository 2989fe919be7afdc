"""Who will be in trouble in the coming week if the rota stays: the same measures on the published shifts.

Only the rota is counted. Calls come on top, so this is the least that it will be.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from rotas.fatigue_report.kept import Asked, Kept, Person
from rotas.fatigue_report.row import told
from rotas.rest.breaches import Breach, Judged, judge
from rotas.rest.intervals import DAY, ZERO, Span
from rotas.rest.localtime import shown
from rotas.rest.marks import RANK, Level
from rotas.rest.report import LOOK_BACK, Flag, vet_state
from rotas.rest.rules import Measure

AHEAD = 7 * DAY


@dataclass(frozen=True)
class Ahead:
    """One vet in the coming week: `breaks` counts the rules that the rota would break, `reasons` say why."""

    person: Person
    shifts: int
    level: Level
    breaks: int
    reasons: tuple[str, ...]

    @property
    def words(self) -> str:
        """The week in words."""
        if self.breaks:
            return "would break a rule"
        return {Level.GREEN: "nothing stands out", Level.AMBER: "watch", Level.RED: "over a mark"}[self.level]


def ahead(kept: Kept, asked: Asked) -> Ahead:
    """Return the vet's coming week, from `now` on."""
    week = Span(asked.now, asked.now + AHEAD)
    shifts = [each for each in kept.rostered if each.span.touches(week)]
    flags = _worst(kept, asked, [each.span.end for each in shifts if each.span.end <= week.end])
    broken = [told(each, asked) for each in _breaches(kept, asked, week)]
    raised = sorted(
        ((at, flag) for at, flag in flags if flag.level != Level.GREEN), key=lambda pair: -RANK[pair[1].level]
    )
    level = max((flag.level for _, flag in flags), key=RANK.__getitem__, default=Level.GREEN)
    return Ahead(
        kept.person,
        len(shifts),
        Level.RED if broken else level,
        len(broken),
        (*broken, *(f"By {shown(at, asked.tz)}: {flag.sentence}" for at, flag in raised)),
    )


def _breaches(kept: Kept, asked: Asked, week: Span) -> Iterator[Breach]:
    """Yield the limits that the rota passes in the week, on what has been worked up to now."""
    average = asked.rule_set.only([Measure.AVERAGE_WEEK])
    rest = asked.rule_set.only(set(Measure) - {Measure.AVERAGE_WEEK})
    longest = max((rule.window for rule in average.rules if rule.window), default=LOOK_BACK)
    for rules, back in ((rest, LOOK_BACK), (average, longest)):
        known = Span(week.start - back - DAY, week.end)
        log = asked.log(kept.duties_touching(known), kept.leave).knowing(known)
        for breach in judge(Judged(log, rules, asked.reading, within=week)):
            if week.start <= breach.moment < week.end:
                yield breach


def _worst(kept: Kept, asked: Asked, moments: list[datetime]) -> list[tuple[datetime, Flag]]:
    """Return for every number its highest level at the end of any shift of the week, the first time."""
    duties = kept.duties_touching(Span(asked.now - LOOK_BACK, asked.now + AHEAD + timedelta(minutes=1)))
    worst: dict[str, tuple[datetime, Flag]] = {}
    for moment in sorted(set(moments)):
        owed = sum((each.amount for each in kept.owed if each.taken_at is None), ZERO)
        state = vet_state(
            duties,
            asked.tz,
            now=moment,
            owed=owed,
            reports=kept.said,
            standby_in_full=asked.rule_set.standby_in_full,
        )
        for flag in state.flags:
            if flag.name not in worst or RANK[flag.level] > RANK[worst[flag.name][1].level]:
                worst[flag.name] = (moment, flag)
    return list(worst.values())
