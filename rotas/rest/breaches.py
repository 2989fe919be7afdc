"""Which rules duties break, by how much, when, and in a sentence a manager can read."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo
from itertools import pairwise

from rotas.rest.intervals import DAY, Duty, Span, chains, clip, covered, longest_gap
from rotas.rest.localtime import in_words, local_day, shown
from rotas.rest.log import DutyLog
from rotas.rest.measure import (
    Measured,
    average_night,
    averages,
    daily_rest_by_gap,
    daily_rest_by_window,
    driving_after,
    driving_without_break,
    is_night_worker,
    least_rest,
    on_call_nights,
    since_restart,
    weekly_rest,
    worked_in,
)
from rotas.rest.rules import Measure, Reading, Rule, RuleSet


@dataclass(frozen=True)
class Breach:
    """One limit passed. `measured` and `required` are elapsed time, or a count for counted rules.

    `moment` is when it was certain (for daily rest, the start that came too early), UTC.
    """

    rule: Rule
    measured: timedelta | int
    required: timedelta | int
    moment: datetime
    sentence: str

    @property
    def shortfall(self) -> timedelta:
        """By how much, as time; zero for counted rules."""
        if isinstance(self.measured, timedelta) and isinstance(self.required, timedelta):
            return abs(self.measured - self.required)
        return timedelta(0)


@dataclass(frozen=True)
class Judged:
    """A log with the set and the reading that it is judged by.

    Where only the worst of many periods is told, those that share time with `within` are looked at.
    """

    log: DutyLog
    rule_set: RuleSet
    reading: Reading
    night_worker: bool | None = None
    opted_out: bool = False
    within: Span | None = None

    def shown(self, moment: datetime) -> str:
        """Return the moment in the log's zone, in words."""
        return shown(moment, self.log.tz)

    def looks_at(self, window: Span) -> bool:
        """Say whether a period is one of those of which the worst is told."""
        return self.within is None or self.within.touches(window)

    def limit(self, measure: Measure) -> timedelta | None:
        """Return the length that the set gives for the measure."""
        rule = self.rule_set.one(measure)
        return rule.amount if rule else None


def breaches(
    duties: Iterable[Duty],
    rule_set: RuleSet,
    tz: tzinfo,
    reading: Reading = Reading.GAP,
    *,
    known: Span | None = None,
    leave: Iterable[date] = (),
    night_worker: bool | None = None,
    opted_out: bool = False,
) -> tuple[Breach, ...]:
    """Return every breach in order of time.

    `night_worker` None: whoever works at night as a normal course, by `is_night_worker`.

    `known` bounds the time that the duties are complete for; `opted_out` sets the average week
    aside and nothing else (Directive 2003/88/EC Art 22).
    """
    log = DutyLog(tuple(duties), tz, rule_set.standby_in_full, known, frozenset(leave))
    return judge(Judged(log, rule_set, Reading(reading), night_worker, opted_out))


def judge(judged: Judged) -> tuple[Breach, ...]:
    """Return every breach of a prepared log in order of time."""
    found = (
        breach
        for rule in judged.rule_set.rules
        if rule.measure in CHECKS
        for breach in CHECKS[rule.measure](rule, judged)
    )
    return tuple(sorted(found, key=lambda breach: (breach.moment, breach.rule.rule_id)))


def _too_short(rule: Rule, measured: Measured, told: str) -> Breach:
    sentence = f"{told} {in_words(measured.amount)}; {in_words(rule.amount)} are needed ({rule.cited})."
    return Breach(rule, measured.amount, rule.amount, measured.moment, sentence)


def _too_long(rule: Rule, amount: timedelta, moment: datetime, told: str) -> Breach:
    sentence = f"{told} {in_words(amount)}; {in_words(rule.amount)} is the most ({rule.cited})."
    return Breach(rule, amount, rule.amount, moment, sentence)


def daily_rest(rule: Rule, judged: Judged) -> Iterator[Breach]:
    """Enough unbroken rest before each start, or inside the 24 hours from each start."""
    log, needed, by_gap = judged.log, rule.amount, judged.reading == Reading.GAP
    for found in daily_rest_by_gap(log, needed) if by_gap else daily_rest_by_window(log):
        if found.amount < needed and not _on_call_instead(judged, found.window):
            of_day = f"in the 24 hours from {judged.shown(found.window.start)}"
            where = f"before {judged.shown(found.moment)}" if by_gap else of_day
            yield _too_short(rule, found, f"The longest rest {where} was")


def _on_call_instead(judged: Judged, window: Span) -> bool:
    """The set judges a night on call at home by its own rules, and one lies in the window."""
    night = judged.rule_set.one(Measure.ON_CALL_NIGHT_REST)
    if not judged.rule_set.on_call_rest_replaces_daily or night is None:
        return False
    return any(each.touches(window) for _, each in judged.log.nights_standing_by(*night.span_of_clock))


def on_call_night_rest(rule: Rule, judged: Judged) -> Iterator[Breach]:
    """Enough unbroken rest in each night on call at home."""
    (start, end), needed = rule.span_of_clock, rule.amount
    for evening, found in on_call_nights(judged.log, rule):
        if found.amount < needed:
            night = f"{evening:%a} {evening.day} {evening:%b}"
            told = f"On call on {night} the longest rest between {start:%H:%M} and {end:%H:%M} was"
            yield _too_short(rule, found, told)


def on_call_total_rest(rule: Rule, judged: Judged) -> Iterator[Breach]:
    """Enough rest, blocks together, in any 24 hours of each stand-by at home."""
    counted, needed, window = judged.log.counted, rule.amount, rule.window or DAY
    for standby in judged.log.standby:
        found = least_rest(counted, standby, window)
        if found.amount < needed:
            told = f"On call, the rest in the 24 hours from {judged.shown(found.window.start)} was"
            yield _too_short(rule, found, told)


def planned_duty(rule: Rule, judged: Judged) -> Iterator[Breach]:
    """No planned duty longer than the most."""
    most = rule.amount
    for span in judged.log.planned:
        if span.length > most:
            told = f"The planned duty from {judged.shown(span.start)} lasts"
            yield _too_long(rule, span.length, span.start + most, told)


def duty_span(rule: Rule, judged: Judged) -> Iterator[Breach]:
    """No spell of duty, calls included, longer than the most from first start to last finish."""
    closed_by, most = judged.limit(Measure.SPAN_CLOSED_BY) or timedelta(0), rule.amount
    for span in chains(judged.log.counted, closed_by):
        if span.length > most:
            told = f"From the first start on {judged.shown(span.start)} to the last finish it was"
            yield _too_long(rule, span.length, span.start + most, told)


def week_rest(rule: Rule, judged: Judged) -> Iterator[Breach]:
    """One long unbroken rest inside each fixed period from Monday."""
    count = round((rule.window or timedelta(weeks=1)) / timedelta(weeks=1))
    needed, period = rule.amount, "week" if count == 1 else f"{count} weeks"
    for found in weekly_rest(judged.log, count):
        if found.amount < needed:
            told = f"The longest rest in the {period} from {judged.shown(found.window.start)} was"
            yield _too_short(rule, found, told)


def average(rule: Rule, judged: Judged) -> Iterator[Breach]:
    """The average week over the reference period, leave added back; the worst period is told."""
    if judged.opted_out:
        return
    periods = averages(judged.log, rule.reference)
    looked_at = (found for found in periods if judged.looks_at(found.window))
    worst = max(looked_at, key=lambda found: found.amount, default=None)
    if worst is not None and worst.amount > rule.amount:
        count = round(worst.window.length / DAY) // 7
        told = f"The average week of the {count} weeks to {judged.shown(worst.moment)} was"
        yield _too_long(rule, worst.amount, worst.moment, told)


def night_average(rule: Rule, judged: Judged) -> Iterator[Breach]:
    """A night worker's average in 24 hours; the last whole reference period is judged."""
    hull = judged.log.hull
    if judged.night_worker is False or hull is None or rule.window is None:
        return
    period = Span(hull.end - rule.window, hull.end)
    if not (judged.night_worker or is_night_worker(judged.log, period)):
        return
    days = rule.window.days - rule.window.days // 7
    amount = average_night(worked_in(judged.log, period), days)
    if amount > rule.amount:
        yield _too_long(rule, amount, hull.end, "As a night worker the average in 24 hours was")


def broken_rests(rule: Rule, judged: Judged) -> Iterator[Breach]:
    """No more broken nights on call in the window than the rota may cost."""
    if rule.window is None:
        return
    most, window = rule.count, rule.window
    moments = [moment for _, moment in broken_night_ends(judged)]
    for index, moment in enumerate(moments):
        inside = [other for other in moments[: index + 1] if moment - other < window]
        if len(inside) == most + 1:
            sentence = (
                f"{len(inside)} nights on call were broken in the {window.days} days "
                f"to {judged.shown(moment)}: a fault of the rota, not of the vet ({rule.cited})."
            )
            yield Breach(rule, len(inside), most, moment, sentence)


def broken_night_ends(judged: Judged) -> list[tuple[date, datetime]]:
    """Return the evening and the end of every night on call that left too little rest.

    Too little unbroken in the night, or too little together in the 24 hours that end with it.
    """
    unbroken = judged.rule_set.one(Measure.ON_CALL_NIGHT_REST)
    together = judged.limit(Measure.ON_CALL_TOTAL_REST) or timedelta(0)
    if unbroken is None:
        return []
    needed = unbroken.amount
    return [
        (evening, found.moment)
        for evening, found in on_call_nights(judged.log, unbroken)
        if found.amount < needed or _rest_to(judged, found.moment) < together
    ]


def _rest_to(judged: Judged, moment: datetime) -> timedelta:
    day = Span(moment - timedelta(hours=24), moment)
    return day.length - worked_in(judged.log, day)


def _duty_periods(judged: Judged) -> tuple[Span, ...]:
    """Duty periods in the style of hours of service: only the daily rest off ends one."""
    return chains(judged.log.counted, judged.limit(Measure.DAILY_REST) or timedelta(hours=10))


def drive_window(rule: Rule, judged: Judged) -> Iterator[Breach]:
    """No driving once so many hours have passed since coming on duty."""
    for period in _duty_periods(judged):
        closes = period.start + rule.amount
        late = driving_after(judged.log.driven, closes, period.end)
        if late:
            last = max(span.end for span in clip(judged.log.driven, Span(closes, period.end)))
            ends = f"after {judged.shown(closes)}, until {judged.shown(last)}"
            told = f"Driving went on {ends}; since coming on duty that is"
            if last - period.start > rule.amount:
                yield _too_long(rule, last - period.start, closes, told)


def drive_hours(rule: Rule, judged: Judged) -> Iterator[Breach]:
    """No more driving than the most in one duty period."""
    for period in _duty_periods(judged):
        driven = covered(judged.log.driven, period)
        if driven > rule.amount:
            told = f"In the duty period from {judged.shown(period.start)} the driving was"
            yield _too_long(rule, driven, period.end, told)


def drive_break(rule: Rule, judged: Judged) -> Iterator[Breach]:
    """An interruption before more driving than the window allows."""
    allowed = rule.window or timedelta(hours=8)
    for period in _duty_periods(judged):
        run = driving_without_break(judged.log, period, rule.amount)
        if run > allowed:
            sentence = (
                f"Driving added up to {in_words(run)} without a break of {in_words(rule.amount)} "
                f"in the duty period from {judged.shown(period.start)}; "
                f"{in_words(allowed)} is the most ({rule.cited})."
            )
            yield Breach(rule, run, allowed, period.end, sentence)


def drive_after_duty(rule: Rule, judged: Judged) -> Iterator[Breach]:
    """No driving once duty in the days before has reached the most; a long rest restarts the count."""
    window = rule.window or timedelta(days=8)
    for span in judged.log.driven:
        amount = since_restart(judged.log, span.end, window, judged.limit(Measure.RESTART))
        if amount > rule.amount:
            told = f"When driving ended at {judged.shown(span.end)} the duty of {window.days} days was"
            yield _too_long(rule, amount, span.end, told)


def rolling_hours(rule: Rule, judged: Judged) -> Iterator[Breach]:
    """No more duty than the most in any window of that length; the worst is told."""
    log, window = judged.log, rule.window or timedelta(hours=168)
    ends = [span.end for span in log.counted if judged.looks_at(Span(span.end - window, span.end))]
    found = ((worked_in(log, Span(end - window, end)), end) for end in ends)
    amount, worst = max(found, key=lambda each: each[0], default=(timedelta(0), None))
    if worst is not None and amount > rule.amount:
        told = f"The duty of the {window / timedelta(hours=1):g} hours to {judged.shown(worst)} was"
        yield _too_long(rule, amount, worst, told)


def free_before_duty(rule: Rule, judged: Judged) -> Iterator[Breach]:
    """One long unbroken rest in the window before each duty period."""
    window = rule.window or timedelta(hours=168)
    for period in _duty_periods(judged):
        before = Span(period.start - window, period.start)
        found = Measured(longest_gap(judged.log.counted, before), before, period.start)
        if found.amount < rule.amount:
            length = f"{window / timedelta(hours=1):g} hours"
            told = f"The longest rest in the {length} before {judged.shown(period.start)} was"
            yield _too_short(rule, found, told)


Check = Callable[[Rule, Judged], Iterator[Breach]]
CHECKS: dict[Measure | None, Check] = {
    Measure.DAILY_REST: daily_rest,
    Measure.ON_CALL_NIGHT_REST: on_call_night_rest,
    Measure.ON_CALL_TOTAL_REST: on_call_total_rest,
    Measure.PLANNED_DUTY: planned_duty,
    Measure.DUTY_SPAN: duty_span,
    Measure.WEEKLY_REST: week_rest,
    Measure.AVERAGE_WEEK: average,
    Measure.NIGHT_AVERAGE: night_average,
    Measure.BROKEN_RESTS: broken_rests,
    Measure.DRIVE_WINDOW: drive_window,
    Measure.DRIVE_HOURS: drive_hours,
    Measure.DRIVE_BREAK: drive_break,
    Measure.DRIVE_AFTER_DUTY: drive_after_duty,
    Measure.ROLLING_HOURS: rolling_hours,
    Measure.FREE_BEFORE_DUTY: free_before_duty,
}


def consecutive_days(log: DutyLog) -> int:
    """Return the longest run of local calendar days on which work began."""
    days = sorted({local_day(span.start, log.tz) for span in log.counted})
    longest_run = run = 1 if days else 0
    for before, after in pairwise(days):
        run = run + 1 if (after - before).days == 1 else 1
        longest_run = max(longest_run, run)
    return longest_run
