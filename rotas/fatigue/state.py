"""One vet's plain state: normal, take care or stop, with every reason in words.

The levels are the marks of rotas.rest.marks; predicted sleepiness is one number more beside them. It may
raise a state and never lowers one. "Not safe" from a vet stands without question.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from rotas.fatigue.curve import sleepiness_if_up
from rotas.fatigue.kss import on_the_scale
from rotas.fatigue.risk import Risk, may_clear, risks_at
from rotas.fatigue.sleep import Report
from rotas.rest.intervals import ZERO, utc
from rotas.rest.log import DutyLog
from rotas.rest.marks import Level, Mark
from rotas.rest.report import Flag, VetState, nights_running, vet_state

SLEEPY = Mark("predicted_sleepiness", "Predicted sleepiness", "of 9", 7, 8, "KSS; marks [cp]")
"""7 is "sleepy, no effort to stay awake", 8 "some effort"; what to do from there is common practice [cp]."""

SAID_HOLDS = timedelta(hours=24)
NOT_SAFE = "not_safe"
SAYS_NOT_SAFE = "The vet says: not safe. That stands; nobody asks why."
STOOD_DOWN = "Stood down. That stands; nobody asks why."
NOT_CLEARED = "Predicted sleepiness is low, but the model alone clears no third night in a row."


class Plain(StrEnum):
    """The state as it is said."""

    NORMAL = "normal"
    TAKE_CARE = "take care"
    STOP = "stop"


PLAIN = {Level.GREEN: Plain.NORMAL, Level.AMBER: Plain.TAKE_CARE, Level.RED: Plain.STOP}
ADVICE = {
    Plain.NORMAL: "",
    Plain.TAKE_CARE: "Prefer others at little cost; no surgery alone.",
    Plain.STOP: "Work by telephone only, unless a manager signs; never drive.",
}


@dataclass(frozen=True)
class State:
    """One vet at one moment. `numbers` are all of them, raw; `risks` stand beside and change no level."""

    plain: Plain
    reasons: tuple[str, ...]
    numbers: VetState
    risks: tuple[Risk, ...]

    @property
    def advice(self) -> str:
        """What the desk does about it."""
        return ADVICE[self.plain]


def plain_state(
    log: DutyLog,
    reports: Iterable[Report],
    now: datetime,
    *,
    drive_min: int = 0,
    night_km_7d: float | None = None,
    owed: timedelta = ZERO,
    stood_down: bool | None = None,
) -> State:
    """Return the state. `log` should reach back four weeks and hold the shift under way.

    `stood_down` says whether the vet is: who is may not be sent, and a "not safe" that has ended, by rest
    or by a manager's word, holds no longer. Unknown, the word holds for a day.
    """
    moment, said = utc(now), tuple(reports)
    so_far = log.until(moment)
    word = _word(said, moment, stood_down)
    told = vet_state(
        so_far.duties,
        log.tz,
        now=moment,
        drive_min=drive_min,
        night_km_7d=night_km_7d,
        owed=owed,
        self_report=word,
        standby_in_full=log.standby_in_full,
        reports=said,
    )
    sleepy = float(on_the_scale(sleepiness_if_up(log, said, moment)[:1])[0])
    predicted = Flag(SLEEPY.name, sleepy, SLEEPY.level(sleepy), SLEEPY.sentence(sleepy))
    numbers = VetState((*told.flags, predicted))
    risks = risks_at(log, moment)
    standing = STOOD_DOWN if stood_down else SAYS_NOT_SAFE if word == NOT_SAFE else ""
    reasons = (standing,) if standing else tuple(_reasons(numbers, so_far, moment))
    return State(PLAIN[numbers.level], reasons, numbers, risks)


def _word(reports: tuple[Report, ...], now: datetime, stood_down: bool | None) -> str:
    if stood_down:
        return NOT_SAFE
    word = last_word(reports, now)
    return "" if word == NOT_SAFE and stood_down is False else word


def last_word(reports: Iterable[Report], now: datetime) -> str:
    """Return what the vet said last within 24 hours, nothing if nothing."""
    lately = [each for each in reports if now - SAID_HOLDS < each.at <= now and each.word]
    return max(lately, key=lambda each: each.at).word if lately else ""


def _reasons(numbers: VetState, log: DutyLog, now: datetime) -> Iterator[str]:
    yield from numbers.reasons
    if not may_clear(nights_running(log, now)) and (numbers.value(SLEEPY.name) or 0) < SLEEPY.amber:
        yield NOT_CLEARED
