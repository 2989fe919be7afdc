"""Rest owed when a limit was knowingly passed, and the nights on call that left too little."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo

from rotas.rest.breaches import Breach, Judged, broken_night_ends
from rotas.rest.intervals import Duty, Span, longest_gap, utc
from rotas.rest.limits import Limit
from rotas.rest.localtime import in_words, shown
from rotas.rest.log import DutyLog
from rotas.rest.rules import SHIFT_END, Measure, Reading, RuleSet

KEPT = timedelta(days=7)


@dataclass(frozen=True)
class RestOwed:
    """`amount` of rest on top of daily rest, from the end of the job, before the next planned duty.

    `before` is that duty's start if it is known; after `expires_at` it nags the manager, not the vet.
    """

    rule_id: str
    amount: timedelta
    owed_from: datetime
    before: datetime | None
    expires_at: datetime
    sentence: str

    def is_overdue(self, now: datetime) -> bool:
        """Say whether the time to take it has run out."""
        return utc(now) >= self.expires_at


def owed_for_passing(
    limit: Limit, home_at: datetime, rule_set: RuleSet, tz: tzinfo, *, next_duty_start: datetime | None = None
) -> RestOwed | None:
    """Return the rest owed when the vet is home only at that moment; None if the limit holds."""
    home_at = utc(home_at)
    if home_at <= limit.at:
        return None
    amount = home_at - limit.at
    rule_id = limit.rule.rule_id if limit.rule else SHIFT_END
    return _owed(rule_id, amount, home_at, rule_set, tz, next_duty_start)


def owed_for_breach(
    breach: Breach,
    job_end: datetime,
    rule_set: RuleSet,
    tz: tzinfo,
    *,
    next_duty_start: datetime | None = None,
) -> RestOwed | None:
    """Return the rest owed for a breach that has happened: as long as what was missing."""
    if not breach.shortfall:
        return None
    return _owed(breach.rule.rule_id, breach.shortfall, utc(job_end), rule_set, tz, next_duty_start)


def _owed(
    rule_id: str,
    amount: timedelta,
    owed_from: datetime,
    rule_set: RuleSet,
    tz: tzinfo,
    next_duty_start: datetime | None,
) -> RestOwed:
    rule = rule_set.one(Measure.OWED_EXPIRES)
    expires = owed_from + (rule.amount if rule else KEPT)
    before = utc(next_duty_start) if next_duty_start else None
    when = f"before the duty at {shown(before, tz)}" if before else "before the next planned duty"
    sentence = (
        f"{in_words(amount)} of rest owed from {shown(owed_from, tz)}, on top of daily rest and {when}; "
        f"at the latest by {shown(expires, tz)}."
    )
    return RestOwed(rule_id, amount, owed_from, before, expires, sentence)


def still_owed(
    owed: RestOwed, duties: Iterable[Duty], rule_set: RuleSet, tz: tzinfo, *, now: datetime
) -> timedelta:
    """Return what is left to take: one unbroken rest since the job pays what it exceeds daily rest by.

    Time on call at home pays only while nothing is worked; planned time off is paid once it has passed.
    """
    now = utc(now)
    if now <= owed.owed_from:
        return owed.amount
    counted = DutyLog(tuple(duties), tz, rule_set.standby_in_full).until(now).counted
    daily = rule_set.one(Measure.DAILY_REST)
    best = longest_gap(counted, Span(owed.owed_from, now))
    paid = max(timedelta(0), best - (daily.amount if daily else timedelta(0)))
    return max(timedelta(0), owed.amount - paid)


@dataclass(frozen=True)
class BrokenNight:
    """A night on call, by its evening's date, that left too little rest; it ends at `ends_at` (UTC)."""

    evening: date
    ends_at: datetime


def broken_nights(
    duties: Iterable[Duty], rule_set: RuleSet, tz: tzinfo, reading: Reading = Reading.GAP
) -> tuple[BrokenNight, ...]:
    """Return the nights on call that broke the unbroken or the total rest of the set."""
    log = DutyLog(tuple(duties), tz, rule_set.standby_in_full)
    return nights_broken(Judged(log, rule_set, Reading(reading)))


def nights_broken(judged: Judged) -> tuple[BrokenNight, ...]:
    """Return the same of a prepared log."""
    ends = broken_night_ends(judged)
    return tuple(sorted((BrokenNight(*end) for end in ends), key=lambda night: night.ends_at))
