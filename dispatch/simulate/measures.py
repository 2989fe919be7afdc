"""What a worked night came to, in the figures that policies are compared by."""

from collections.abc import Iterable
from dataclasses import dataclass, fields
from datetime import datetime, time

from cases.triage import ArrivalTargets
from dispatch.planner.parameters import POINTS_PER_LATE_MINUTE, Urgency, Weights
from dispatch.simulate.calls import NightCall
from dispatch.simulate.judge import nights_broken, unsigned_breaches
from dispatch.simulate.night import Night
from dispatch.simulate.record import Record, Served
from dispatch.situation.limits import SHIFT_END
from dispatch.situation.readiness import ASLEEP_FROM, ASLEEP_UNTIL
from rotas.rest.localtime import local

NIGHT_DRIVING = (time(22), time(6))
HOUR = 60.0
EARLIEST_MIN = ArrivalTargets().earliest_min


@dataclass(frozen=True)
class Measures:
    """One night under one policy. Lateness is in minutes of a same-day call; times in minutes or hours.

    `late` weighs every minute after arrive-by by urgency, `worse` the step once the outcome
    worsens. Counts are of calls, of vets woken, of on-call vets whose night was broken.
    """

    calls: float
    late: float
    late_and_worse: float
    immediate: float
    immediate_in_time: float
    late_min_immediate: float
    late_min_urgent: float
    late_min_same_day: float
    night_drive_min: float
    night_drive_km: float
    hours_worked: float
    sleep_lost_min: float
    woken: float
    broken_nights: float
    handed_over: float
    left_for_day: float
    unsigned_breaches: float
    exceptions: float
    past_shift: float
    limits_passed: float
    turned_back: float
    decisions: float
    seconds: float


FIELDS = tuple(field.name for field in fields(Measures))


def lateness(call: NightCall, begun: float) -> float:
    """Minutes after arrive-by."""
    return max(0.0, begun - call.arrive_by) if call.arrive_by is not None else 0.0


def weighted(call: NightCall, begun: float) -> float:
    """Minutes late at the planner's price of the urgency; one same-day minute is one."""
    return lateness(call, begun) * Weights().lateness[call.urgency].late_per_min / POINTS_PER_LATE_MINUTE


def can_still_worsen(call: NightCall) -> bool:
    """Whether the outcome has not worsened already, or as good as, when the call comes."""
    return call.worse_at is not None and call.worse_at >= call.at + EARLIEST_MIN


def worse(call: NightCall, begun: float) -> float:
    """The step for beginning after the outcome has worsened; none where it had before anybody could come."""
    if not can_still_worsen(call) or begun <= (call.worse_at or 0):
        return 0.0
    return Weights().lateness[call.urgency].worse_step / POINTS_PER_LATE_MINUTE


def measured(record: Record) -> Measures:
    """Sum up one night."""
    served, night = record.served, record.night
    immediate = [each for each in served if each.call.urgency == Urgency.IMMEDIATE]
    late = sum(weighted(each.call, each.begun) for each in served)
    driven = [
        (share, each.km)
        for each in record.drives
        if each.end > each.start
        for share in [overlap(night, each.start, each.end, *NIGHT_DRIVING) / (each.end - each.start)]
    ]
    return Measures(
        calls=len(served),
        late=late,
        late_and_worse=late + sum(worse(each.call, each.begun) for each in served),
        immediate=len(immediate),
        immediate_in_time=sum(lateness(each.call, each.begun) == 0 for each in immediate),
        late_min_immediate=_late_min(served, Urgency.IMMEDIATE),
        late_min_urgent=_late_min(served, Urgency.URGENT),
        late_min_same_day=_late_min(served, Urgency.SAME_DAY),
        night_drive_min=sum(overlap(night, each.start, each.end, *NIGHT_DRIVING) for each in record.drives),
        night_drive_km=sum(share * km for share, km in driven),
        hours_worked=_worked_min(record) / HOUR,
        sleep_lost_min=_sleep_lost(record),
        woken=sum(each.asleep for each in record.asked),
        broken_nights=nights_broken(record),
        handed_over=sum(each.neighbour is not None for each in served),
        left_for_day=sum(each.by_day for each in served),
        unsigned_breaches=len(unsigned_breaches(record)),
        exceptions=len({each.call for each in record.exceptions if each.rule != SHIFT_END}),
        past_shift=len({each.call for each in record.exceptions if each.rule == SHIFT_END}),
        limits_passed=len({each.vet for each in record.signed}),
        turned_back=record.turned_back,
        decisions=record.decisions,
        seconds=record.seconds,
    )


def _late_min(served: Iterable[Served], urgency: Urgency) -> float:
    return sum(lateness(each.call, each.begun) for each in served if each.call.urgency == urgency)


def _spans(record: Record) -> Iterable[tuple[float, float]]:
    """Minutes in which a vet on call was out."""
    on_call = {vet.id for vet in record.night.crew if vet.standby is not None}
    for vet, duties in record.duties.items():
        if vet in on_call:
            for duty in duties:
                yield _minute(record.night, duty.start), _minute(record.night, duty.end)


def _minute(night: Night, instant: datetime) -> float:
    return (instant - night.epoch).total_seconds() / 60


def _worked_min(record: Record) -> float:
    return sum(end - start for start, end in _spans(record))


def _sleep_lost(record: Record) -> float:
    return sum(overlap(record.night, start, end, ASLEEP_FROM, ASLEEP_UNTIL) for start, end in _spans(record))


def overlap(night: Night, start: float, end: float, begins: time, until: time) -> float:
    """Minutes of [start, end) within those local hours of this night, which run over midnight."""
    evening = night.epoch.astimezone(night.zone).date()
    morning = evening.fromordinal(evening.toordinal() + 1)
    opens = _minute(night, local(evening, begins, night.zone))
    closes = _minute(night, local(morning, until, night.zone))
    return max(0.0, min(end, closes) - max(start, opens))
