"""When the next planned duty may begin, and when the present one must end."""

from collections.abc import Iterable, Iterator
from datetime import datetime, tzinfo

from rotas.rest.breaches import Judged, broken_night_ends
from rotas.rest.intervals import DAY, Duty, Span, longest_gap, utc
from rotas.rest.limits import Limit, Tonight, duty_span
from rotas.rest.localtime import clock, in_words, local, local_day, shown
from rotas.rest.log import DutyLog
from rotas.rest.measure import duty_days
from rotas.rest.rules import Measure, Reading, Rule, RuleSet


def earliest_next_duty(
    duties: Iterable[Duty], rule_set: RuleSet, tz: tzinfo, reading: Reading = Reading.GAP
) -> Limit | None:
    """Return the earliest lawful start of the next planned duty after these; None if nothing was worked.

    A broken night on call also gives the morning off.
    """
    log = DutyLog(tuple(duties), tz, rule_set.standby_in_full)
    if not log.counted:
        return None
    judged = Judged(log, rule_set, Reading(reading))
    off = tuple(_mornings_off(judged))
    no_sooner = max(log.counted[-1].end, *(limit.at for limit in off)) if off else log.counted[-1].end
    rested = max(
        (_rested(judged, rule, no_sooner) for rule in rule_set.of(Measure.DAILY_REST)),
        key=lambda limit: limit.at,
        default=Limit(log.counted[-1].end, None, "no daily rest in this rule set"),
    )
    return max((rested, *off), key=lambda limit: limit.at)


def _rested(judged: Judged, rule: Rule, no_sooner: datetime) -> Limit:
    """When the rest of this rule is had; rest from before the last work counts only while it is still
    within the time that a start at `no_sooner` is judged by."""
    log = judged.log
    end = log.counted[-1].end
    if _had_rest(judged, rule, end) and _had_rest(judged, rule, no_sooner):
        return Limit(end, rule, f"{in_words(rule.amount)} rest was had before {shown(end, log.tz)}")
    reason = f"{in_words(rule.amount)} rest from the last finish at {shown(end, log.tz)}"
    return Limit(end + rule.amount, rule, reason)


def _had_rest(judged: Judged, rule: Rule, end: datetime) -> bool:
    """The rest asked for was had already, in the time that a start at this moment is judged by."""
    counted = judged.log.counted
    if judged.reading == Reading.GAP:
        since = max([end - DAY, *(span.end for span in judged.log.planned)])
        return since < end and longest_gap(counted, Span(since, end)) >= rule.amount
    day = list(duty_days(counted))[-1]
    return longest_gap(counted, Span(day.start, end)) >= rule.amount


def _mornings_off(judged: Judged) -> Iterator[Limit]:
    rule = judged.rule_set.one(Measure.MORNING_OFF)
    if rule is None or rule.clock_until is None:
        return
    for _, end in broken_night_ends(judged):
        until = local(local_day(end, judged.log.tz), rule.clock_until, judged.log.tz)
        yield Limit(
            until, rule, f"morning off until {clock(until, judged.log.tz)} after a broken night on call"
        )


def longest_duty_end(duties: Iterable[Duty], rule_set: RuleSet, tz: tzinfo, *, now: datetime) -> Limit | None:
    """Return when the duty under way, or one begun now, must end at the latest; None without such a rule."""
    log = DutyLog(tuple(duties), tz, rule_set.standby_in_full)
    tonight = Tonight(log, Judged(log, rule_set, Reading.GAP), utc(now), None, None, ())
    ends = [*_planned_end(tonight), *duty_span(tonight)]
    return min(ends, key=lambda limit: limit.at, default=None)


def _planned_end(tonight: Tonight) -> Iterator[Limit]:
    rule = tonight.judged.rule_set.one(Measure.PLANNED_DUTY)
    running = [span for span in tonight.log.planned if span.start <= tonight.now < span.end]
    if rule is not None and running:
        start = running[-1].start
        reason = f"{in_words(rule.amount)} is the longest planned duty, begun {shown(start, tonight.log.tz)}"
        yield Limit(start + rule.amount, rule, reason)
