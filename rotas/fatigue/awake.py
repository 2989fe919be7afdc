"""How long a vet is up: from the sleep that is estimated or reported, not from a wish.

Sleep of 5 h within 12, in pieces too, begins the count anew; a shorter one pays back twice its length
[cp]. What a run of short nights does to somebody is for the model to say, not for this number.
"""

from collections.abc import Iterable
from datetime import datetime, timedelta

from rotas.fatigue.sleep import Assumption, Report, assumptions, slept
from rotas.rest.intervals import ZERO, Span, Spans, covered, utc
from rotas.rest.log import DutyLog

LOOK_BACK = timedelta(days=5)


def hours_awake(log: DutyLog, reports: Iterable[Report], now: datetime) -> timedelta:
    """Return the time awake at the moment; zero for who is probably asleep after enough of it."""
    moment = utc(now)
    window = Span(moment - LOOK_BACK, moment)
    said = [report for report in reports if report.at <= moment]
    return awake_after(slept(log.until(moment), said, window), moment, assumptions()["usual"])


def awake_after(sleeps: Spans, now: datetime, usual: Assumption) -> timedelta:
    """Return the time awake at the moment, from the first sleep on; the whole look-back without any."""
    if not sleeps:
        return LOOK_BACK
    awake, up_since = ZERO, sleeps[0].start
    for span in sleeps:
        awake = _after(awake + (span.start - up_since), span, sleeps, usual)
        up_since = span.end
    return awake + (now - up_since)


def _after(awake: timedelta, sleep: Span, sleeps: Spans, usual: Assumption) -> timedelta:
    lately = Span(sleep.end - timedelta(hours=usual.enough_within), sleep.end)
    if covered(sleeps, lately) >= timedelta(hours=usual.short_night):
        return ZERO
    return max(ZERO, awake - usual.paid_back * sleep.length)
