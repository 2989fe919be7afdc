"""A practice's own targets. No body publishes arrival times for farms: all are settings, defaults [cp]."""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from datetime import datetime, time, timedelta
from types import MappingProxyType
from zoneinfo import ZoneInfo

from cases.triage.vocabulary import Urgency


@dataclass(frozen=True)
class ArrivalTargets:
    """Minutes are counted from the call, clock times are local. All defaults [cp].

    `complaint_min` replaces a complaint's own arrival target, by code.
    """

    immediate_min: int = 60
    urgent_min: int = 180
    same_day_min: int = 480
    next_working_day_by: time = time(18)
    morning_by: time = time(10)  # a same-day call that a vet agreed at night to leave till morning
    advice_phone_min: int = 120
    advice_phone_by: time = time(9)  # by night
    immediate_phone_min: int = 5
    urgent_phone_min: int = 20
    same_day_phone_min: int = 60
    next_working_day_phone_min: int = 240
    notifiable_phone_min: int = 15
    earliest_min: int = 20  # no deadline is ever set closer to the call than this
    reask_min: int = 15
    points_to_raise: int = 2
    night_from: time = time(18)
    night_until: time = time(8)
    complaint_min: Mapping[str, int] = field(default_factory=lambda: MappingProxyType({}))

    def __post_init__(self) -> None:
        for each in fields(self):
            value = getattr(self, each.name)
            if isinstance(value, (int, float)) and (not isinstance(value, int) or value <= 0):
                raise ValueError(f"{each.name} must be a whole number above 0")
        if not self.immediate_min <= self.urgent_min <= self.same_day_min:
            raise ValueError("immediate_min, urgent_min and same_day_min must not fall in that order")
        if not all(isinstance(minutes, int) and minutes > 0 for minutes in self.complaint_min.values()):
            raise ValueError("complaint_min must hold whole minutes above 0")
        if self.night_from == self.night_until:
            raise ValueError("night_from and night_until must differ")

    def phone_min(self, urgency: Urgency) -> int:
        """Minutes within which a vet telephones for a call raised to this class."""
        return {
            Urgency.IMMEDIATE: self.immediate_phone_min,
            Urgency.URGENT: self.urgent_phone_min,
            Urgency.SAME_DAY: self.same_day_phone_min,
            Urgency.NEXT_WORKING_DAY: self.next_working_day_phone_min,
            Urgency.ADVICE: self.advice_phone_min,
        }[urgency]

    def is_night(self, instant: datetime, tz: ZoneInfo) -> bool:
        """Whether the instant falls in [night_from, night_until) on the practice's clock."""
        clock = instant.astimezone(tz).time()
        if self.night_from < self.night_until:
            return self.night_from <= clock < self.night_until
        return clock >= self.night_from or clock < self.night_until


def next_clock(instant: datetime, clock: time, tz: ZoneInfo) -> datetime:
    """Return when the practice's clock next shows `clock` after `instant`, in `instant`'s zone."""
    local = instant.astimezone(tz)
    day = local.date() if local.time() < clock else local.date() + timedelta(days=1)
    return datetime.combine(day, clock, tzinfo=tz).astimezone(instant.tzinfo)
