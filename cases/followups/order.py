"""In which order what is owed is shown, and whose list each check stands on [cp]."""

import enum
from datetime import datetime, timedelta

from cases.followups.templates import Importance, Who

SILENCE = timedelta(hours=2)  # a farm that has not answered so long after its check is rung by the desk [cp]
LONG_AGO = timedelta(days=120)
"""An optional check so long overdue tells nothing any more; a person says so, never the clock [cp]."""

_IMPORTANCE = {Importance.MUST.value: 0, Importance.SHOULD.value: 1, Importance.OPTIONAL.value: 2}


class Desk(enum.Enum):
    """Whose list a check stands on; the value is its heading."""

    URGENT = "Cannot wait"
    RING = "The desk rings"
    VET = "A vet rings"
    VISIT = "A vet or a nurse goes"
    FARM = "The farm looks"
    LAB = "From the laboratory"


_LISTS = {
    Who.RECEPTION.value: Desk.RING,
    Who.VET_PHONE.value: Desk.VET,
    Who.VET_VISIT.value: Desk.VISIT,
    Who.NURSE_VISIT.value: Desk.VISIT,
    Who.FARMER.value: Desk.FARM,
    Who.LAB.value: Desk.LAB,
}


def list_of(who: str, *, escalated: bool, nobody_rings: bool, silent: bool) -> Desk:
    """Return whose list a check stands on.

    `nobody_rings`: a vet's call that no vet has; `silent`: a farm that has not answered in time.
    """
    if escalated:
        return Desk.URGENT
    if (who == Who.VET_PHONE.value and nobody_rings) or (who == Who.FARMER.value and silent):
        return Desk.RING
    return _LISTS.get(who, Desk.RING)


def is_silent(who: str, due_at: datetime | None, now: datetime) -> bool:
    """Say whether a farm's own check is so long overdue that somebody asks."""
    return who == Who.FARMER.value and due_at is not None and now >= due_at + SILENCE


def is_pointless(importance: str, due_at: datetime | None, now: datetime) -> bool:
    """Say whether a check is worth offering to be ended: optional and long overdue."""
    optional = importance == Importance.OPTIONAL.value
    return optional and due_at is not None and now - due_at >= LONG_AGO


def weight(importance: str, due_at: datetime, *, escalated: bool) -> tuple[bool, int, datetime]:
    """Return what overdue checks are ordered by: what cannot wait, then musts, then the oldest."""
    return not escalated, _IMPORTANCE.get(importance, 1), due_at
