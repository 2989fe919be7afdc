"""Whose message it is that did not arrive: asked before it goes by its next way.

An owner takes the message, the moment and a step that lets it go on. It locks its own rows first, looks
whether the news still holds, takes the step or closes the message, and returns True; False: not mine.
It runs in the transaction in which the message goes on. A message without an owner simply goes on.
"""

from collections.abc import Callable
from datetime import datetime

from rotas.models import OutboxMessage

GoOn = Callable[[], OutboxMessage | None]
Owner = Callable[[OutboxMessage, datetime, GoOn], bool]
_owners: list[Owner] = []


def register(owner: Owner) -> Owner:
    """Register an owner once; usable as a decorator."""
    if owner not in _owners:
        _owners.append(owner)
    return owner


def owners() -> tuple[Owner, ...]:
    """Return who is asked, in the order in which they registered."""
    return tuple(_owners)
