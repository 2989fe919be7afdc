"""Duties, counts and states of a rota as people say them. Wording only."""

from collections.abc import Mapping
from datetime import timedelta

from rotas.models import DraftDuty, Shift, ShiftRole

ONCE = {ShiftRole.FIRST: "first on call", ShiftRole.SECOND: "second on call", ShiftRole.DAY: "day vet"}


def times(duty: Shift | DraftDuty) -> str:
    """Return "18:00 to 08:00", the day in front of an end that is later than the next morning."""
    local = duty.practice.local
    start, end = local(duty.starts_at), local(duty.ends_at)
    far = end.date() - start.date() > timedelta(days=1)
    return f"{start:%H:%M} to {f'{end:%a} ' if far else ''}{end:%H:%M}"


def turns_in_words(counted: Mapping[str, int]) -> str:
    """Return "first on call 5 times, second 4, day vet 12", or that there is nothing."""
    said = [
        f"{word} {'once' if counted[role] == 1 else f'{counted[role]} times'}"
        for role, word in ONCE.items()
        if counted.get(role)
    ]
    return ", ".join(said) or "no duty"
