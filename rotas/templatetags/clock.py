"""Times and spans as people say them. Formatting only: what is late or owed is decided elsewhere."""

from datetime import datetime, timedelta

from django import template
from django.utils import timezone

from rotas.fatigue_report.in_words import in_words
from rotas.fatigue_report.tables import Cell

register = template.Library()


@register.filter
def clock(instant: datetime | None, now: datetime | None = None) -> str:
    """Return "02:40", with the day in front when it is not today: "Sat 02:40"."""
    if instant is None:
        return ""
    local = timezone.localtime(instant)
    today = timezone.localtime(now) if now else timezone.localtime()
    if local.date() == today.date():
        return f"{local:%H:%M}"
    if abs(local.date() - today.date()) < timedelta(days=7):
        return f"{local:%a %H:%M}"
    return f"{local:%a %-d %b %H:%M}"


@register.filter
def span(minutes: float | None) -> str:
    """Return whole minutes as "17 min", "1 h 55" or "2 d 4 h"; "minus 5 min" for what is past."""
    if minutes is None:
        return ""
    whole = round(minutes)
    sign, whole = ("minus " if whole < 0 else ""), abs(whole)
    if whole < 60:
        return f"{sign}{whole} min"
    if whole < 24 * 60:
        return f"{sign}{whole // 60} h {whole % 60:02d}"
    return f"{sign}{whole // 1440} d {whole % 1440 // 60} h"


@register.filter
def cut_underscores(code: str) -> str:
    """Return a code as words: "surgical_kit_cattle" is "surgical kit cattle"."""
    return str(code).replace("_", " ")


@register.filter
def split_words(text: str) -> list[str]:
    """Return the words of a text, to write a short list in a template."""
    return text.split()


@register.filter
def hours(length: timedelta) -> str:
    """Return a length of time as hours and minutes, such as "9 h 30"."""
    whole = round(length.total_seconds() / 60)
    return f"{whole // 60} h {whole % 60:02d}"


@register.filter
def cell(value: Cell) -> str:
    """Return a value of the report's tables as people read it."""
    return in_words(value, timezone.get_current_timezone())


@register.filter
def percent(share: float) -> str:
    """Return a share of the time axis as a place on it, such as "12.345%"."""
    return f"{100 * share:.3f}%"
