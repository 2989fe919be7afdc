"""One vet over the period: the raw numbers, the rules broken and who signed, the rest that is owed."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property

from rotas.fatigue_report.driving import Driving, driving
from rotas.fatigue_report.kept import Asked, Kept, Looked, Note, OwedRest, Person, Signed
from rotas.fatigue_report.week_hours import WeekHours, last_monday, week_hours
from rotas.rest.breaches import Breach, Judged, judge
from rotas.rest.intervals import DAY, ZERO, Span
from rotas.rest.localtime import local_day, shown
from rotas.rest.log import DutyLog
from rotas.rest.marks import Level
from rotas.rest.owed import BrokenNight, nights_broken
from rotas.rest.report import LOOK_BACK, PeriodFacts, VetState, disturbed_nights, facts_of, vet_state
from rotas.rest.rules import Measure

WORDS = {Level.GREEN: "within every mark", Level.AMBER: "watch", Level.RED: "over a mark"}
LISTED = 20
BROKEN = "within the marks, but rest was broken"


@dataclass(frozen=True)
class Row:
    """One vet over the period, and the state at its end (or now, where the end is to come).

    `breaches` are those of the period, `signed` the limits passed in it by somebody's word; `owed` is
    the rest still to be given, whenever it came up. `week` is the Monday of the week that the state is of,
    `notes` say what will change after this or another week of the period.
    """

    person: Person
    facts: PeriodFacts
    state: VetState
    breaches: tuple[Breach, ...]
    signed: tuple[Signed, ...]
    owed: tuple[OwedRest, ...]
    overdue: timedelta
    driving: Driving
    weeks: WeekHours
    looked: Looked | None
    notes: tuple[Note, ...]
    week: date

    @property
    def owed_amount(self) -> timedelta:
        """All the rest still owed together."""
        return sum((each.amount for each in self.owed), ZERO)

    @property
    def words(self) -> str:
        """The row in words, which never call somebody well whose rest was broken."""
        if self.breaches and self.state.level == Level.GREEN:
            return BROKEN
        return WORDS[self.state.level]

    @property
    def by_rule(self) -> tuple[tuple[str, int], ...]:
        """How often each rule was broken, by the rule's name."""
        return tuple(sorted(Counter(each.rule.name for each in self.breaches).items()))

    @property
    def latest(self) -> tuple[Breach, ...]:
        """The latest breaches, as many as a page can bear; the files hold them all."""
        return self.breaches[-LISTED:]

    @property
    def needs_note(self) -> bool:
        """Say whether the vet is over a mark and nobody has written what will change."""
        return self.state.level == Level.RED and all(note.week != self.week for note in self.notes)


@dataclass(frozen=True)
class Judgement:
    """One vet's duties judged once, for the period, the months and the coming week alike."""

    kept: Kept
    asked: Asked
    known: Span

    @cached_property
    def log(self) -> DutyLog:
        """The duties that had begun by the end of the period."""
        duties = self.kept.duties_before(self.asked.until)
        return self.asked.log(duties, self.kept.leave)

    @cached_property
    def breaches(self) -> tuple[Breach, ...]:
        """Every breach of the known time, but for the average, which is judged for the period alone."""
        rest = self.asked.rule_set.only(set(Measure) - {Measure.AVERAGE_WEEK})
        return judge(Judged(self.log.knowing(self.known), rest, self.asked.reading))

    @cached_property
    def of_period(self) -> tuple[Breach, ...]:
        """The breaches whose moment lies in the period."""
        asked, average = self.asked, self.asked.rule_set.only([Measure.AVERAGE_WEEK])
        log = self.log.knowing(Span(asked.start - self._reference, asked.until))
        worst = judge(Judged(log, average, asked.reading, within=asked.period))
        inside = (each for each in (*self.breaches, *worst) if asked.start <= each.moment < asked.until)
        return tuple(sorted(inside, key=lambda each: (each.moment, each.rule.rule_id)))

    @cached_property
    def disturbed(self) -> tuple[date, ...]:
        """The evenings of every night of the known time in which somebody reached the vet."""
        return disturbed_nights(self.log, Span(self.known.start, self.asked.until))

    @cached_property
    def broken_nights(self) -> tuple[BrokenNight, ...]:
        """The nights on call that left too little rest."""
        return nights_broken(Judged(self.log, self.asked.rule_set, self.asked.reading))

    @property
    def _reference(self) -> timedelta:
        rule = self.asked.rule_set.one(Measure.AVERAGE_WEEK)
        return (rule.window if rule else None) or ZERO


def row(judged: Judgement) -> Row:
    """Return the vet's row."""
    kept, asked = judged.kept, judged.asked
    owed = tuple(each for each in kept.owed if each.taken_at is None and _came_up(each, asked))
    return Row(
        person=kept.person,
        facts=facts_of(judged.log, asked.period),
        state=_state(judged, owed),
        breaches=judged.of_period,
        signed=tuple(
            each for each in kept.signed if asked.start <= each.at < asked.end and each.at <= asked.now
        ),
        owed=owed,
        overdue=sum((each.amount for each in owed if each.overdue(asked.now)), ZERO),
        driving=driving(kept.worked, asked.period, asked.tz),
        weeks=week_hours(kept, judged.log, asked),
        looked=kept.looked,
        notes=tuple(_notes(kept, asked)),
        week=last_monday(asked.until - timedelta.resolution, asked),
    )


def _came_up(owed: OwedRest, asked: Asked) -> bool:
    """Say whether it was owed by the end of the period; up to now it counts though the job still runs."""
    return asked.end > asked.now or owed.owed_from < asked.end


def _notes(kept: Kept, asked: Asked) -> Iterator[Note]:
    """Yield the notes about a week that shares a day with the period."""
    first, last = (local_day(at, asked.tz) for at in (asked.start, asked.until - timedelta.resolution))
    for note in kept.notes:
        if note.week <= last and note.week + timedelta(days=6) >= first:
            yield note


def _state(judged: Judgement, owed: tuple[OwedRest, ...]) -> VetState:
    """Return the state at the end of the period; four weeks of duties are enough for every number of it."""
    kept, asked = judged.kept, judged.asked
    week = Span(asked.until - 7 * DAY, asked.until)
    return vet_state(
        kept.duties_touching(Span(asked.until - LOOK_BACK - DAY, asked.until)),
        asked.tz,
        now=asked.until,
        night_km_7d=driving(kept.worked, week, asked.tz).night_km,
        owed=sum((each.amount for each in owed), ZERO),
        self_report=_said(kept, asked),
        standby_in_full=asked.rule_set.standby_in_full,
        reports=kept.said,
    )


def _said(kept: Kept, asked: Asked) -> str:
    """Return what the vet last said, if it was said in the last day of the period."""
    lately = [each.word for each in kept.said if asked.until - DAY <= each.at <= asked.until]
    return lately[-1] if lately else ""


def told(breach: Breach, asked: Asked) -> str:
    """Return a breach as a line: when, and what."""
    return f"{shown(breach.moment, asked.tz)}: {breach.sentence}"
