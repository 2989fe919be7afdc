"""What people answer by text message, offered to whoever registered for it.

A handler takes a `Reply` and returns the sentence that goes back, "" where nothing has to be said,
or None: not mine. Handlers are asked in the order in which they registered, the first that
understands the reply has it. They run in the transaction in which the reply is marked as done.
"""

import logging
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from rotas.errors import DeskError
from rotas.models import Practice

log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Reply:
    """One reply. `at` is when it was written by the gateway's clock, `now` when we look at it by ours.

    `from_number` is in E.164 where it is a telephone number at all; `key` is the gateway's own id of it.
    """

    practice: Practice
    from_number: str
    text: str
    at: datetime
    key: str
    now: datetime


@dataclass(frozen=True)
class Answered:
    """Who understood the reply, and what goes back."""

    handler: str
    sentence: str


Handler = Callable[[Reply], str | None]
_handlers: list[Handler] = []


def register(handler: Handler) -> Handler:
    """Register a handler once; usable as a decorator."""
    if handler not in _handlers:
        _handlers.append(handler)
    return handler


def offer(reply: Reply) -> Answered | None:
    """Ask the handlers; None where none of them understands the reply.

    A refusal of the trade is an answer like any other. A handler that breaks is undone and passed over.
    """
    for handler in _handlers:
        name = f"{handler.__module__}.{handler.__qualname__}"
        try:
            with transaction.atomic():
                sentence = handler(reply)
        except DeskError as refusal:
            return Answered(name, refusal.sentence)
        except Exception:
            log.exception("The handler %s broke over the reply %s.", name, reply.key)
            continue
        if sentence is not None:
            return Answered(name, sentence)
    return None
