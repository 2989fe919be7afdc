"""What a minute of a vet's time costs a plan, for being tired: by hours awake and by predicted sleepiness.

Steps (from minute, points a minute) that only rise: a vet who is sent while tired is not rested by the
morning. The dearer of the two counts; they are not added. The planner weighs; it clears nobody.
"""

from collections.abc import Iterable
from datetime import datetime, timedelta

import numpy as np

from rotas.fatigue.clock import HOUR, clock_hours, hours_from
from rotas.fatigue.kss import WITHOUT_W, forms
from rotas.fatigue.line import warm_period
from rotas.fatigue.sleep import Report, Waking, assumptions
from rotas.fatigue.stretches import clipped
from rotas.fatigue.tpm import Values
from rotas.fatigue.trace import run
from rotas.rest.intervals import utc
from rotas.rest.log import DutyLog

Steps = tuple[tuple[int, int], ...]

AWAKE_FROM_HOURS = ((16, 30), (17, 100), (18, 400))
"""Points per minute awake beyond so many hours: 17 to 19 h awake matched 0.05 % blood alcohol on
most tests [S48]; the prices are common practice [cp]."""

SLEEPY_FROM = ((7, 10), (8, 100), (9, 400))
"""Points per minute from a predicted sleepiness on: the words of the scale are "sleepy", "some effort to
stay awake" and "fighting sleep"; the prices are common practice [cp]."""

AHEAD, STEP = timedelta(hours=24), timedelta(minutes=15)


def awake_steps(minutes_awake: int) -> Steps:
    """Return the price of hours awake for a vet who is up so long already."""
    curve: dict[int, int] = {}
    for awake_h, points in AWAKE_FROM_HOURS:
        curve[max(0, awake_h * 60 - minutes_awake)] = points
    return tuple(sorted(curve.items()))


def cost_curve(log: DutyLog, reports: Iterable[Report], now: datetime, minutes_awake: int) -> Steps:
    """Return the price of the coming day's minutes for a vet who is up from now on."""
    return dearer(awake_steps(minutes_awake), sleepy_steps(sleepiness_if_up(log, reports, now)))


def sleepiness_if_up(log: DutyLog, reports: Iterable[Report], now: datetime) -> Values:
    """Return the sleepiness of the coming 24 h, a quarter of an hour apart, if the vet stays up from now.

    Usual assumption, in the form without waking up: a call out of bed has its own price.
    """
    moment = utc(now)
    warm = warm_period(moment, moment + AHEAD, log.tz)
    at = hours_from(warm.start, moment)
    slept = Waking(log.until(moment), [each for each in reports if each.at <= moment], warm).slept(
        assumptions()["usual"]
    )
    count = AHEAD // STEP + 1
    hours = at + np.arange(count, dtype=np.float64) * (STEP / HOUR)
    trace = run(clipped(slept, (0.0, at)), hours, clock_hours(moment, count, STEP, log.tz))
    return forms()[WITHOUT_W].of(trace.scu)


def sleepy_steps(sleepiness: Values) -> Steps:
    """Return the price of a sleepiness given a quarter of an hour apart; it never falls again."""
    so_far = np.maximum.accumulate(sleepiness)
    first = ((int(np.searchsorted(so_far, kss)), points) for kss, points in SLEEPY_FROM)
    a_step = STEP // timedelta(minutes=1)
    minutes = {number * a_step: points for number, points in first if number < len(so_far)}
    return tuple(sorted(minutes.items()))


def dearer(one: Steps, other: Steps) -> Steps:
    """Return the dearer of two rising prices at every minute, without steps that change nothing."""
    steps: list[tuple[int, int]] = []
    for minute, points in sorted((*one, *other)):
        if not steps or points > steps[-1][1]:
            steps = [*(step for step in steps if step[0] != minute), (minute, points)]
    return tuple(steps)
