"""What the manager's fatigue report shows of one vet: raw hours first, then words with their reasons."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta, tzinfo

from rotas.fatigue.awake import hours_awake
from rotas.fatigue.sleep import Report
from rotas.rest.intervals import (
    DAY,
    ZERO,
    Duty,
    DutyKind,
    Span,
    covered,
    gaps,
    longest_gap,
    meets,
    utc,
)
from rotas.rest.localtime import day_span, hours, local_day, night_span, nights
from rotas.rest.log import DutyLog
from rotas.rest.marks import (
    AWAKE,
    AWAKE_DRIVING,
    DISTURBED,
    LONG_DRIVE_MIN,
    LONGEST_REST,
    NIGHT_KM,
    NIGHTS_RUNNING,
    OWED,
    RANK,
    SELF_REPORT,
    SINCE_DAY_OFF,
    WORK_7D,
    WORK_24,
    WORK_72,
    Level,
    Mark,
)
from rotas.rest.measure import worked_in

DISTURBED_FROM, DISTURBED_UNTIL = time(23), time(6)
LOOK_BACK = timedelta(days=28)


@dataclass(frozen=True)
class Flag:
    """One number with its level and its sentence; `value` in the mark's unit, None for what the vet said."""

    name: str
    value: float | None
    level: Level
    sentence: str


@dataclass(frozen=True)
class VetState:
    """One vet at one moment: every number, and the highest level among them."""

    flags: tuple[Flag, ...]

    @property
    def level(self) -> Level:
        """The highest level of any number; one red number is red."""
        return max((flag.level for flag in self.flags), key=RANK.__getitem__, default=Level.GREEN)

    @property
    def reasons(self) -> tuple[str, ...]:
        """The sentences of the numbers that are not green, red first."""
        raised = (flag for flag in self.flags if flag.level != Level.GREEN)
        return tuple(flag.sentence for flag in sorted(raised, key=lambda flag: -RANK[flag.level]))

    def value(self, name: str) -> float | None:
        """Return a raw number by its name; None if it was not asked for."""
        return next((flag.value for flag in self.flags if flag.name == name), None)


@dataclass(frozen=True)
class PeriodFacts:
    """One vet over one period. Worked time counts stand-by at home only as far as it was worked."""

    worked: timedelta
    standby: timedelta
    call_outs: int
    phone_calls: int
    disturbed_nights: tuple[date, ...]
    nights_on_duty: int
    longest_nights_running: int
    longest_rest: timedelta
    worked_by_day: tuple[tuple[date, timedelta], ...]


def vet_state(
    duties: Iterable[Duty],
    tz: tzinfo,
    *,
    now: datetime,
    awake_since: datetime | None = None,
    drive_min: int = 0,
    night_km_7d: float | None = None,
    owed: timedelta = ZERO,
    self_report: str = "",
    standby_in_full: bool = False,
    reports: Iterable[Report] = (),
) -> VetState:
    """Return the vet's numbers at the moment. `duties` should reach back four weeks.

    `awake_since` is the vet's own word; `self_report` is fresh, ok, tired, not_safe or empty.
    `reports` replace the sleep that is estimated by the hours that the vet named.
    """
    now = utc(now)
    log = DutyLog(tuple(duties), tz, standby_in_full).until(now)
    up = hours_awake(log, reports, now) if awake_since is None else max(ZERO, now - utc(awake_since))
    awake = AWAKE_DRIVING if drive_min > LONG_DRIVE_MIN else AWAKE
    flags = [
        _flag(awake, hours(up)),
        _flag(LONGEST_REST, hours(longest_gap(log.counted, Span(now - DAY, now)))),
        *(
            _flag(mark, hours(worked_in(log, Span(now - back, now))))
            for mark, back in ((WORK_24, DAY), (WORK_72, 3 * DAY), (WORK_7D, 7 * DAY))
        ),
        _flag(DISTURBED, len(disturbed_nights(log, Span(now - 7 * DAY, now)))),
        _flag(NIGHTS_RUNNING, nights_running(log, now)),
        _flag(SINCE_DAY_OFF, hours(since_day_off(log, now))),
        _flag(OWED, hours(owed)),
    ]
    if night_km_7d is not None:
        flags.append(_flag(NIGHT_KM, night_km_7d))
    return VetState((*flags, *_told(self_report)))


def _flag(mark: Mark, value: float) -> Flag:
    return Flag(mark.name, value, mark.level(value), mark.sentence(value))


def _told(self_report: str) -> tuple[Flag, ...]:
    """What the vet says stands without question."""
    if not self_report:
        return ()
    if self_report not in SELF_REPORT:
        raise ValueError(f"{self_report!r} is not one of {', '.join(SELF_REPORT)}.")
    said = self_report.replace("_", " ")
    return (Flag("self_report", None, SELF_REPORT[self_report], f"The vet says: {said}."),)


def disturbed_nights(log: DutyLog, window: Span) -> tuple[date, ...]:
    """Return the evenings of the nights in the window with any contact between 23:00 and 06:00 local."""
    return tuple(
        evening
        for evening, night in nights(window, DISTURBED_FROM, DISTURBED_UNTIL, log.tz)
        if (inside := _overlap(night, window)) is not None and meets(log.contacts, inside)
    )


def _overlap(one: Span, other: Span) -> Span | None:
    start, end = max(one.start, other.start), min(one.end, other.end)
    return Span(start, end) if start < end else None


def _night(log: DutyLog, evening: date) -> Span:
    return night_span(evening, DISTURBED_FROM, DISTURBED_UNTIL, log.tz)


def _on_duty(log: DutyLog, evening: date) -> bool:
    return meets(log.on_duty, _night(log, evening))


def nights_running(log: DutyLog, now: datetime) -> int:
    """Return how many nights in a row the vet was on duty, up to the one that runs or ended last.

    On call at home counts, woken or not.
    """
    evening = local_day(now, log.tz)
    if _night(log, evening).start >= now:
        evening -= timedelta(days=1)
    count = 0
    while _on_duty(log, evening):
        count, evening = count + 1, evening - timedelta(days=1)
    return count


def since_day_off(log: DutyLog, now: datetime) -> timedelta:
    """Return the time since the last 24 h neither worked nor on call ended; zero inside them.

    Reaches back four weeks: with no such rest in the log it is counted from the first duty.
    """
    window = Span(now - LOOK_BACK, now)
    off = [gap for gap in gaps(log.on_duty, window) if gap.length >= DAY]
    if off:
        return now - off[-1].end
    return now - max(window.start, log.on_duty[0].start) if log.on_duty else ZERO


def period_facts(
    duties: Iterable[Duty], tz: tzinfo, period: Span, *, standby_in_full: bool = False
) -> PeriodFacts:
    """Return the vet's raw numbers over the period; a call-out counts where it began."""
    return facts_of(DutyLog(tuple(duties), tz, standby_in_full), period)


def facts_of(log: DutyLog, period: Span) -> PeriodFacts:
    """Return the same of a prepared log."""
    evenings = [
        evening
        for evening, _ in nights(period, DISTURBED_FROM, DISTURBED_UNTIL, log.tz)
        if _on_duty(log, evening)
    ]
    return PeriodFacts(
        worked=worked_in(log, period),
        standby=covered(log.standby, period),
        call_outs=_begun(log, period, DutyKind.CALL_OUT),
        phone_calls=_begun(log, period, DutyKind.PHONE_ADVICE),
        disturbed_nights=disturbed_nights(log, period),
        nights_on_duty=len(evenings),
        longest_nights_running=_longest_run(evenings),
        longest_rest=longest_gap(log.counted, period),
        worked_by_day=tuple(_by_day(log, period)),
    )


def _begun(log: DutyLog, period: Span, kind: DutyKind) -> int:
    return sum(1 for duty in log.duties if duty.kind == kind and period.start <= duty.start < period.end)


def _longest_run(evenings: list[date]) -> int:
    best = run = 0
    previous: date | None = None
    for evening in evenings:
        run = run + 1 if previous is not None and evening - previous == timedelta(days=1) else 1
        best, previous = max(best, run), evening
    return best


def _by_day(log: DutyLog, period: Span) -> Iterable[tuple[date, timedelta]]:
    day = local_day(period.start, log.tz)
    while (span := day_span(day, log.tz)).start < period.end:
        inside = _overlap(span, period)
        if inside is not None:
            yield day, worked_in(log, inside)
        day += timedelta(days=1)
