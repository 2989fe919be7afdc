"""Many clients at the same instant, each on a database connection of its own."""

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from typing import TypeVar

from django.db import connection

from rotas.errors import DeskError

Answer = TypeVar("Answer")


def at_the_same_instant(acts: Sequence[Callable[[], Answer]]) -> list[Answer | DeskError]:
    """Run every act in a thread of its own, released together; a refusal is returned, not raised."""
    gate = Barrier(len(acts))

    def run(act: Callable[[], Answer]) -> Answer | DeskError:
        try:
            connection.ensure_connection()
            gate.wait()
            return act()
        except DeskError as refusal:
            return refusal
        finally:
            connection.close()

    with ThreadPoolExecutor(len(acts)) as pool:
        return list(pool.map(run, acts))
