"""What is left tonight: when a vet must be home by, when the next duty may begin, when this one must end.

Each limit names its rule and its reason in words. They are the planner's side of the checks in
`breaches`: home at the limit breaks nothing, a minute later does.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo

from rotas.rest.breaches import Judged
from rotas.rest.intervals import (
    DAY,
    PLANNED,
    Duty,
    DutyKind,
    Span,
    Spans,
    chains,
    longest_gap,
    merge,
    of_kinds,
    utc,
)
from rotas.rest.localtime import clock, in_words, nights, shown, weeks
from rotas.rest.log import DutyLog
from rotas.rest.measure import day_marks, duty_days, least_rest, planned_duties
from rotas.rest.rules import Measure, Reading, Rule, RuleSet

MINUTE = timedelta(minutes=1)


@dataclass(frozen=True)
class Limit:
    """Home, or off duty, by `at` (UTC), by `rule` (None: the shift's own end), for `reason`."""

    at: datetime
    rule: Rule | None
    reason: str


@dataclass(frozen=True)
class VetLimits:
    """All that bounds one vet now, soonest first. `home_by` is None when nothing does."""

    limits: tuple[Limit, ...]

    @property
    def home_by(self) -> datetime | None:
        """The latest the vet may be home by."""
        return self.limits[0].at if self.limits else None

    @property
    def reason(self) -> str:
        """Why, in words."""
        return self.limits[0].reason if self.limits else "no limit tonight"

    @property
    def rule(self) -> Rule | None:
        """The rule that binds; None where it is the end of the shift, or nothing."""
        return self.limits[0].rule if self.limits else None

    def passed(self, at: datetime) -> tuple[Limit, ...]:
        """Return the limits that being home only at that moment would pass."""
        return tuple(limit for limit in self.limits if at > limit.at)


@dataclass(frozen=True)
class Tonight:
    """One vet's evening as the limits see it: `log` up to now with the stand-by to come."""

    log: DutyLog
    judged: Judged
    now: datetime
    next_start: datetime | None
    next_given: datetime | None
    planned: tuple[Duty, ...]

    @property
    def given_start(self) -> Spans:
        """The next start that was given without its duty, as one minute."""
        given = self.next_given
        return () if given is None else (Span(given, given + MINUTE),)

    @property
    def worked(self) -> Spans:
        """What counted until now."""
        return self.log.until(self.now).counted

    def working_until(self, moment: datetime) -> DutyLog:
        """Return the log after unbroken work from now until the moment, with the rota to come."""
        more = (Duty(self.now, moment, DutyKind.CALL_OUT),) if moment > self.now else ()
        return self.log.with_duties((*more, *self.planned))


def vet_limits(
    duties: Iterable[Duty],
    rule_set: RuleSet,
    tz: tzinfo,
    reading: Reading = Reading.GAP,
    *,
    now: datetime,
    next_duty_start: datetime | None = None,
    shift_end: datetime | None = None,
    planned: Iterable[Duty] = (),
) -> VetLimits:
    """Return what bounds the vet from now on.

    `duties` hold what was worked so far and the present stand-by to its end. `planned` are the
    rota's duties to come; the first of them is the next duty unless `next_duty_start` is earlier.
    """
    tonight = _tonight(duties, rule_set, tz, reading, now, next_duty_start, planned)
    found = [limit for finder in FINDERS for limit in finder(tonight)]
    if shift_end is not None:
        found.append(Limit(utc(shift_end), None, f"end of shift at {clock(shift_end, tz)}"))
    return VetLimits(tuple(sorted(found, key=lambda limit: limit.at)))


def latest_home_by(
    duties: Iterable[Duty],
    next_duty_start: datetime | None,
    rule_set: RuleSet,
    tz: tzinfo,
    reading: Reading = Reading.GAP,
    *,
    now: datetime,
) -> datetime | None:
    """Return the latest the vet may be home by for rest alone; None when nothing bounds it."""
    return vet_limits(duties, rule_set, tz, reading, now=now, next_duty_start=next_duty_start).home_by


def _tonight(
    duties: Iterable[Duty],
    rule_set: RuleSet,
    tz: tzinfo,
    reading: Reading,
    now: datetime,
    next_duty_start: datetime | None,
    planned: Iterable[Duty],
) -> Tonight:
    now = utc(now)
    log = DutyLog(tuple(duties), tz, rule_set.standby_in_full)
    to_come = tuple(sorted((duty for duty in planned if duty.start >= now), key=lambda duty: duty.start))
    starts = [duty.start for duty in to_come if duty.kind != DutyKind.AT_HOME]
    given = utc(next_duty_start) if next_duty_start is not None else None
    if given is not None:
        starts.append(given)
    return Tonight(
        log, Judged(log, rule_set, Reading(reading)), now, min(starts, default=None), given, to_come
    )


def daily_rest(tonight: Tonight) -> Iterator[Limit]:
    """Home early enough for daily rest, unless the rest was already had."""
    for rule in tonight.judged.rule_set.of(Measure.DAILY_REST):
        if not _own_rule_tonight(tonight):
            finder = _rest_by_gap if tonight.judged.reading == Reading.GAP else _rest_by_window
            yield from finder(tonight, rule)


def _own_rule_tonight(tonight: Tonight) -> bool:
    return tonight.judged.rule_set.on_call_rest_replaces_daily and bool(_nights_to_come(tonight))


def _rest_by_gap(tonight: Tonight, rule: Rule) -> Iterator[Limit]:
    tz, rest = tonight.log.tz, in_words(rule.amount)
    start = _next_rested_start(tonight, rule)
    if start is not None:
        since = max([start - DAY, *(span.end for span in tonight.log.planned if span.end <= start)])
        yield from _unless_had(
            tonight, rule, since, start, f"{rest} rest before the duty at {shown(start, tz)}"
        )
    mark = _next_day_mark(tonight)
    if mark is not None:
        reason = f"{rest} rest in the 24 hours on call to {shown(mark, tz)}"
        yield from _unless_had(tonight, rule, mark - DAY, mark, reason)


def _unless_had(tonight: Tonight, rule: Rule, since: datetime, end: datetime, reason: str) -> Iterator[Limit]:
    """Yield the rest counted back from the end, unless so much was had since then already."""
    if tonight.now > since and longest_gap(tonight.worked, Span(since, tonight.now)) >= rule.amount:
        return
    yield Limit(end - rule.amount, rule, reason)


def _next_day_mark(tonight: Tonight) -> datetime | None:
    """Return when the next 24 hours of the present stand-by are full: a long one must hold rest too."""
    present = (span for span in tonight.log.standby if span.start <= tonight.now < span.end)
    return min((mark for span in present for mark in day_marks(span) if mark > tonight.now), default=None)


def _next_rested_start(tonight: Tonight, rule: Rule) -> datetime | None:
    """Return the next start that needs rest before it: not the second half of a split day."""
    to_come = of_kinds(tonight.planned, PLANNED)
    duties = planned_duties(merge((*tonight.log.planned, *to_come)), rule.amount)
    starts = [duty.start for duty in duties if duty.start > tonight.now]
    given = tonight.next_given
    if given is not None and not any(duty.start < given < duty.end for duty in duties):
        starts.append(given)
    return min(starts, default=None)


def _rest_by_window(tonight: Tonight, rule: Rule) -> Iterator[Limit]:
    day = _present_duty_day(tonight)
    reason = f"{in_words(rule.amount)} rest inside the 24 hours from {shown(day.start, tonight.log.tz)}"
    had = Span(day.start, tonight.now) if tonight.now > day.start else None
    if had is None or longest_gap(tonight.worked, had) < rule.amount:
        closes = min(day.end, tonight.next_start or day.end)
        yield Limit(closes - rule.amount, rule, reason)
        return

    def enough(moment: datetime) -> bool:
        """The next 24 hours, which begin while still at work, must hold the rest before what is planned."""
        counted = merge((*tonight.working_until(moment).counted, *tonight.given_start))
        next_day = Span(day.end, day.end + DAY)
        return moment <= day.end or longest_gap(counted, next_day) >= rule.amount

    after = f"{in_words(rule.amount)} rest inside the 24 hours from {shown(day.end, tonight.log.tz)}"
    yield from _latest(tonight.now, enough, rule, after)


def _present_duty_day(tonight: Tonight) -> Span:
    """The 24 hours that run now; work taken up now would begin new ones if none do."""
    running = [day for day in duty_days(tonight.worked) if day.start <= tonight.now < day.end]
    return running[-1] if running else Span(tonight.now, tonight.now + DAY)


def _nights_to_come(tonight: Tonight) -> list[Span]:
    """The nights on call at home, this one included, that end after now."""
    rule = tonight.judged.rule_set.one(Measure.ON_CALL_NIGHT_REST)
    if rule is None:
        return []
    start, end = rule.span_of_clock
    found = {
        night
        for standby in tonight.log.standby
        for _, night in nights(standby, start, end, tonight.log.tz)
        if night.end > tonight.now
    }
    return sorted(found)


def on_call_night(tonight: Tonight) -> Iterator[Limit]:
    """Home early enough for the unbroken hours of this night, unless they were already had."""
    rule = tonight.judged.rule_set.one(Measure.ON_CALL_NIGHT_REST)
    coming = _nights_to_come(tonight)
    if rule is None or not coming:
        return
    night = coming[0]
    had = Span(night.start, tonight.now) if tonight.now > night.start else None
    if had is not None and longest_gap(tonight.worked, had) >= rule.amount:
        return
    ends = min(night.end, tonight.next_start or night.end)
    reason = f"{in_words(rule.amount)} unbroken rest on call before {clock(ends, tonight.log.tz)}"
    yield Limit(ends - rule.amount, rule, reason)


def on_call_total(tonight: Tonight) -> Iterator[Limit]:
    """Home before the rest of any 24 hours on call falls under the least."""
    rule = tonight.judged.rule_set.one(Measure.ON_CALL_TOTAL_REST)
    standby = [span for span in tonight.log.standby if span.end > tonight.now]
    if rule is None or not standby:
        return

    def enough(moment: datetime) -> bool:
        counted = tonight.working_until(moment).counted
        return all(least_rest(counted, span, rule.window or DAY).amount >= rule.amount for span in standby)

    reason = f"{in_words(rule.amount)} rest in any 24 hours on call"
    yield from _latest(tonight.now, enough, rule, reason)


def duty_span(tonight: Tonight) -> Iterator[Limit]:
    """Home before the spell of duty is too long from its first start, unless enough rest has closed it."""
    rule = tonight.judged.rule_set.one(Measure.DUTY_SPAN)
    if rule is None:
        return
    closed_by = tonight.judged.limit(Measure.SPAN_CLOSED_BY) or timedelta(0)
    spells = chains(tonight.worked, closed_by)
    running = bool(spells) and tonight.now - spells[-1].end < closed_by
    start = spells[-1].start if running else tonight.now
    latest = _before_next_spell(tonight, start + rule.amount, closed_by)
    reason = f"{in_words(rule.amount)} from the first start at {shown(start, tonight.log.tz)}"
    yield Limit(latest, rule, reason)


def _before_next_spell(tonight: Tonight, latest: datetime, closed_by: timedelta) -> datetime:
    """Return the limit, earlier where the next planned duty would run on from tonight and pass it."""
    coming = next((duty for duty in tonight.planned if duty.kind != DutyKind.AT_HOME), None)
    if coming is None or coming.end <= latest:
        return latest
    return min(latest, coming.start - closed_by)


def weekly_rest(tonight: Tonight) -> Iterator[Limit]:
    """Home early enough to leave this week its long rest, where the rota still leaves room for it."""
    week = next(weeks(Span(tonight.now, tonight.now + MINUTE), tonight.log.tz))
    for rule in tonight.judged.rule_set.of(Measure.WEEKLY_REST):
        if rule.window != timedelta(weeks=1):
            continue

        def enough(moment: datetime, least: timedelta = rule.amount) -> bool:
            return longest_gap(tonight.working_until(moment).counted, week) >= least

        if enough(tonight.now):
            reason = f"{in_words(rule.amount)} unbroken rest this week"
            yield from _latest(tonight.now, enough, rule, reason)


def drive_window(tonight: Tonight) -> Iterator[Limit]:
    """Off the road before the driving window closes."""
    rule = tonight.judged.rule_set.one(Measure.DRIVE_WINDOW)
    if rule is None:
        return
    off = tonight.judged.limit(Measure.DAILY_REST) or timedelta(hours=10)
    periods = chains(tonight.worked, off)
    running = bool(periods) and tonight.now - periods[-1].end < off
    start = periods[-1].start if running else tonight.now
    since = shown(start, tonight.log.tz)
    reason = f"no driving later than {in_words(rule.amount)} after coming on duty at {since}"
    yield Limit(start + rule.amount, rule, reason)


def _latest(now: datetime, enough: Callable[[datetime], bool], rule: Rule, reason: str) -> Iterator[Limit]:
    """Find the last whole minute until which work from now leaves enough; nothing if a whole day does."""
    if not enough(now):
        yield Limit(now, rule, f"{reason} (already short)")
        return
    low, high = 0, int(DAY / MINUTE)
    if enough(now + high * MINUTE):
        return
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if enough(now + middle * MINUTE) else (low, middle)
    yield Limit(now + low * MINUTE, rule, reason)


FINDERS: tuple[Callable[[Tonight], Iterator[Limit]], ...] = (
    daily_rest,
    on_call_night,
    on_call_total,
    duty_span,
    weekly_rest,
    drive_window,
)
