"""Times and counts as people at the desk say them. Pure: 24-hour clock, days named, no symbols."""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta, tzinfo

from dispatch.planner.words import HOUR, minutes_words

NEAR = timedelta(hours=12)


def whole_minutes(span: timedelta) -> int:
    """Return the minutes of a span, cut towards zero."""
    return int(span.total_seconds() / 60)


def hours_words(minutes: int) -> str:
    """Say a rough length of time: "40 min", "4 h"."""
    return f"{minutes} min" if minutes < HOUR else f"{(minutes + 30) // HOUR} h"


def ago_words(span: timedelta) -> str:
    """Say how long ago something was: "just now", "40 s ago", "3 min ago", "2 h ago"."""
    seconds = max(0, int(span.total_seconds()))
    if seconds < 5:
        return "just now"
    if seconds < 120:
        return f"{seconds} s ago"
    return f"{minutes_words(seconds // 60)} ago"


def clock_words(instant: datetime, now: datetime, zone: tzinfo) -> str:
    """Say when: "02:40", with the day named when that could be mistaken: "Mon 08:00"."""
    local, today = instant.astimezone(zone), now.astimezone(zone).date()
    if local.date() == today or abs(instant - now) < NEAR:
        return f"{local:%H:%M}"
    if abs((local.date() - today).days) < 7:
        return f"{local:%a %H:%M}"
    return f"{local:%a} {local.day} {local:%b %H:%M}"


def left_words(minutes: int) -> str:
    """Say what is left until a time, or by how much it is past: "17 min", "12 min late"."""
    return minutes_words(minutes) if minutes >= 0 else f"{minutes_words(minutes)} late"


def joined(items: Sequence[str]) -> str:
    """Join as in speech: "a", "a and b", "a, b and c"."""
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} and {items[-1]}"


def sentence(parts: Iterable[str]) -> str:
    """Make one sentence of parts: first letter large, a full stop at the end."""
    text = ", ".join(part for part in parts if part)
    return f"{text[0].upper()}{text[1:]}." if text else ""


def kit_words(code: str) -> str:
    """Say a piece of kit: "surgical kit cattle"."""
    return code.replace("_", " ")
