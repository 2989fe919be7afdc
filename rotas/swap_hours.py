"""What a swap changes in hours for each of the two vets."""

from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from rotas.models import Shift, ShiftRole, Vet
from rotas.rest.localtime import in_words

ZERO = timedelta(0)


@dataclass(frozen=True)
class Change:
    """Hours more (+) or fewer (-) on call at home and at work, at the workplace on call included."""

    vet: Vet
    on_call: timedelta
    at_work: timedelta

    @property
    def sentence(self) -> str:
        """Return 'Asha: 14 h less on call, 10 h more at work.'"""
        parts = [
            f"{in_words(abs(amount))} {'more' if amount > ZERO else 'less'} {where}"
            for amount, where in ((self.on_call, "on call"), (self.at_work, "at work"))
            if amount
        ]
        return f"{self.vet}: {', '.join(parts) or 'the same hours'}."

    def as_json(self) -> dict[str, Any]:
        """Return the change as it is kept, in minutes."""
        minute = timedelta(minutes=1)
        return {
            "vet": self.vet.pk,
            "name": self.vet.name,
            "on_call_min": self.on_call // minute,
            "at_work_min": self.at_work // minute,
            "sentence": self.sentence,
        }


def changes(shift: Shift, to_vet: Vet, in_return: Shift | None) -> tuple[Change, Change]:
    """Return what it changes for who gives the shift and for who takes it."""
    on_call, at_work = _hours(shift)
    back_on_call, back_at_work = _hours(in_return) if in_return else (ZERO, ZERO)
    more_on_call, more_at_work = on_call - back_on_call, at_work - back_at_work
    return Change(shift.vet, -more_on_call, -more_at_work), Change(to_vet, more_on_call, more_at_work)


def _hours(shift: Shift) -> tuple[timedelta, timedelta]:
    length = shift.ends_at - shift.starts_at
    works = shift.role == ShiftRole.DAY or shift.at_workplace
    return (ZERO, length) if works else (length, ZERO)
