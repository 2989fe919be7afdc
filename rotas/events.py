"""Telling the upper floors that something happened, without knowing them.

A service calls `announce` inside its transaction; listeners run after the commit, so that a
rolled-back change is never told. Listeners register in their app's ``ready``.
"""

from collections.abc import Callable
from functools import partial

from django.db import transaction

Listener = Callable[[int, str, str], None]
_listeners: list[Listener] = []


def listen(listener: Listener) -> Listener:
    """Register a listener (practice id, topic, because) once; usable as a decorator."""
    if listener not in _listeners:
        _listeners.append(listener)
    return listener


def announce(practice_id: int, topic: str, because: str = "") -> None:
    """Tell the listeners after the commit. Topics: call, visit, offer, vet, rota, booking, aftercare, plan."""
    for listener in _listeners:
        transaction.on_commit(partial(listener, practice_id, topic, because), robust=True)
