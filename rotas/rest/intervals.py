"""Half-open stretches of time [start, end) in UTC: merge, clip, gaps and sums."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from functools import cached_property
from operator import attrgetter

ZERO = timedelta(0)
DAY = timedelta(hours=24)


def utc(moment: datetime) -> datetime:
    """Return the moment in UTC; a time without a zone is refused, it could be any hour."""
    if moment.tzinfo is UTC:  # the common case of every measure, and the quick one
        return moment
    if moment.tzinfo is None or moment.utcoffset() is None:
        raise ValueError(f"{moment.isoformat()} has no time zone. Give the time with its zone or offset.")
    return moment.astimezone(UTC)


@dataclass(frozen=True, order=True, slots=True)
class Span:
    """One stretch [start, end), not empty. Kept in UTC, so that lengths are real hours."""

    start: datetime
    end: datetime

    def __post_init__(self) -> None:
        if self.start.tzinfo is not UTC or self.end.tzinfo is not UTC:
            object.__setattr__(self, "start", utc(self.start))
            object.__setattr__(self, "end", utc(self.end))
        if self.end <= self.start:
            raise ValueError(
                f"A stretch must end after it starts: {self.start.isoformat()} to {self.end.isoformat()}."
            )

    @property
    def length(self) -> timedelta:
        """Elapsed time."""
        return self.end - self.start

    def touches(self, other: "Span") -> bool:
        """Say whether the two share any time; meeting end to start is not sharing."""
        return self.start < other.end and other.start < self.end


class DutyKind(StrEnum):
    """What a duty interval was; the values are those of the duty records, where they have one.

    `workplace` is duty at the practice, on call there included, asleep or not. `at_home` is on
    call at home: rostered, and worked only while something else covers it. A call-out holds its travel.
    """

    WORK = "work"
    WORKPLACE = "workplace"
    AT_HOME = "at_home"
    CALL_OUT = "call_out"
    PHONE_ADVICE = "phone_advice"
    DRIVE_HOME = "drive_home"
    DRIVING = "driving"


PLANNED = frozenset({DutyKind.WORK, DutyKind.WORKPLACE, DutyKind.DRIVING})
WORKED = frozenset(DutyKind) - {DutyKind.AT_HOME}
DRIVEN = frozenset({DutyKind.DRIVING, DutyKind.DRIVE_HOME})
CONTACT = frozenset({DutyKind.CALL_OUT, DutyKind.PHONE_ADVICE, DutyKind.DRIVE_HOME})


@dataclass(frozen=True)
class Duty:
    """One duty interval [start, end) of one vet."""

    start: datetime
    end: datetime
    kind: DutyKind

    def __post_init__(self) -> None:
        if self.start.tzinfo is UTC and self.end.tzinfo is UTC and self.start < self.end:
            return  # as a span would leave them
        span = Span(self.start, self.end)
        object.__setattr__(self, "start", span.start)
        object.__setattr__(self, "end", span.end)

    @classmethod
    def over(cls, span: Span, kind: DutyKind) -> "Duty":
        """Return the duty of an interval that is at hand; a year of duties asks for it many times."""
        duty = cls(span.start, span.end, kind)
        duty.__dict__["span"] = span
        return duty

    @cached_property
    def span(self) -> Span:
        """The interval alone."""
        return Span(self.start, self.end)


Spans = tuple[Span, ...]
START, END = attrgetter("start"), attrgetter("end")


def merge(spans: Iterable[Span]) -> Spans:
    """Return the same time in order, without overlaps and without seams."""
    merged: list[Span] = []
    for span in sorted(spans, key=START):  # which of two that start together comes first changes nothing
        if not merged or span.start > merged[-1].end:
            merged.append(span)
        elif span.end > merged[-1].end:
            merged[-1] = Span(merged[-1].start, span.end)
    return tuple(merged)


def of_kinds(duties: Iterable[Duty], kinds: Iterable[DutyKind]) -> Spans:
    """Return the merged time of the duties of those kinds."""
    wanted = frozenset(kinds)
    return merge(duty.span for duty in duties if duty.kind in wanted)


def touching(merged: Spans, window: Span) -> Spans:
    """Return the merged stretches that share time with the window, whole."""
    first = bisect_right(merged, window.start, key=END)
    last = bisect_left(merged, window.end, lo=first, key=START)
    return merged[first:last]


def meets(merged: Spans, window: Span) -> bool:
    """Say whether any of the merged stretches shares time with the window."""
    first = bisect_right(merged, window.start, key=END)
    return first < len(merged) and merged[first].start < window.end


def covered(merged: Spans, window: Span) -> timedelta:
    """Return how much of the window the merged stretches cover."""
    found = touching(merged, window)
    if not found:
        return ZERO
    first, last = found[0], found[-1]
    whole = sum((span.end - span.start for span in found), ZERO)
    before, after = window.start - first.start, last.end - window.end
    return whole - max(before, ZERO) - max(after, ZERO)


def clip(merged: Spans, window: Span) -> Spans:
    """Return the part of the merged stretches that lies in the window."""
    found = touching(merged, window)
    if not found or (window.start <= found[0].start and found[-1].end <= window.end):
        return found
    first, last = found[0], found[-1]
    if len(found) == 1:
        return (Span(max(first.start, window.start), min(first.end, window.end)),)
    cut_first = first if window.start <= first.start else Span(window.start, first.end)
    cut_last = last if last.end <= window.end else Span(last.start, window.end)
    return (cut_first, *found[1:-1], cut_last)


def gaps(merged: Spans, window: Span) -> Spans:
    """Return the time of the window that no stretch covers."""
    return tuple(_gaps(clip(merged, window), window))


def _gaps(clipped: Spans, window: Span) -> Iterator[Span]:
    cursor = window.start
    for span in clipped:
        if span.start > cursor:
            yield Span(cursor, span.start)
        cursor = span.end
    if cursor < window.end:
        yield Span(cursor, window.end)


def total(spans: Iterable[Span]) -> timedelta:
    """Return the summed length."""
    return sum((span.length for span in spans), ZERO)


def longest_gap(merged: Spans, window: Span) -> timedelta:
    """Return the longest unbroken free time in the window."""
    best, cursor = ZERO, window.start
    for span in touching(merged, window):
        best = max(best, span.start - cursor)
        cursor = span.end
    return max(best, window.end - cursor)


def chains(merged: Spans, closing_gap: timedelta) -> Spans:
    """Join stretches whose gap is shorter than `closing_gap`: from first start to last finish."""
    joined: list[Span] = []
    for span in merged:
        if joined and span.start - joined[-1].end < closing_gap:
            joined[-1] = Span(joined[-1].start, span.end)
        else:
            joined.append(span)
    return tuple(joined)
