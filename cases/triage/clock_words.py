"""How an instant is said: on the practice's 24-hour clock, with the day when it is another day."""

from datetime import datetime
from zoneinfo import ZoneInfo

DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip


def said(instant: datetime, tz: ZoneInfo, beside: datetime) -> str:
    """Return "02:40", or "09:00 on Saturday 21 March" on another day than `beside`.

    In the hour that the clock shows twice, the offset is said too.
    """
    local = instant.astimezone(tz)
    words = f"{local:%H:%M}"
    if _shown_twice(local):
        words += f" ({local.tzname()})"
    if local.date() != beside.astimezone(tz).date():
        words += f" on {DAYS[local.weekday()]} {local.day} {MONTHS[local.month - 1]}"
    return words


def _shown_twice(local: datetime) -> bool:
    return local.replace(fold=0).utcoffset() != local.replace(fold=1).utcoffset()
