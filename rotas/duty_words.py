"""How a duty is said: on the practice's 24-hour clock, with the day."""

from collections.abc import Iterable
from datetime import datetime

from rotas.models import DraftDuty, Practice, Shift
from rotas.rest.localtime import shown


def duty_in_words(duty: Shift | DraftDuty) -> str:
    """Return 'first on call Tue 3 Mar 18:00 to Wed 4 Mar 08:00'."""
    place = f" at {duty.site}" if duty.site else ""
    return f"{duty.get_role_display()}{place} {stretch(duty.practice, duty.starts_at, duty.ends_at)}"


def stretch(practice: Practice, start: datetime, end: datetime) -> str:
    """Return 'Tue 3 Mar 18:00 to Wed 4 Mar 08:00'."""
    return f"{shown(start, practice.tz)} to {shown(end, practice.tz)}"


def duty_lines(duties: Iterable[Shift | DraftDuty]) -> str:
    """Return one line per duty, in order of time."""
    return "\n".join(duty_in_words(duty) for duty in sorted(duties, key=lambda duty: duty.starts_at))
