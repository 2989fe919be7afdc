"""Telling the upper floors that something happened, without knowing them.

A service calls `announce` inside its transaction; listeners run after the commit, so that a
rolled-back change is never told. Listeners register in their app's ``ready``.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from django.db import transaction

Listener = Callable[[int, str, str], None]
_listeners: list[Listener] = []
_unheard: ContextVar[bool] = ContextVar("unheard", default=False)


def listen(listener: Listener) -> Listener:
    """Register a listener (practice id, topic, because) once; usable as a decorator."""
    if listener not in _listeners:
        _listeners.append(listener)
    return listener


def announce(practice_id: int, topic: str, because: str = "") -> None:
    """Tell the listeners after the commit.

    Topics: call, visit, offer, vet, rota, booking, aftercare, plan, alert.
    """
    if _unheard.get():
        return
    for listener in _listeners:
        transaction.on_commit(_told(listener, practice_id, topic, because), robust=True)


def _told(listener: Listener, practice_id: int, topic: str, because: str) -> Callable[[], None]:
    """Return a named function, for Django logs a failing one by its name and a partial has none."""

    def tell() -> None:
        listener(practice_id, topic, because)

    return tell


@contextmanager
def unheard() -> Iterator[None]:
    """Tell nobody what happens inside. Whoever writes hundreds of rows at once says one word at the end."""
    before = _unheard.set(True)
    try:
        yield
    finally:
        _unheard.reset(before)
