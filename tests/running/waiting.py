"""Wait for something that another process does, without guessing how long it takes."""

import time
from collections.abc import Callable
from typing import TypeVar

Found = TypeVar("Found")
LOOK_S = 0.02


def eventually(look: Callable[[], Found], within_s: float = 30) -> Found:
    """Return the first truthy value of ``look``; fail with its last value after ``within_s``.

    The limit only ends a test that would hang: it is far above what any machine needs.
    """
    limit = time.monotonic() + within_s
    while not (found := look()):
        assert time.monotonic() < limit, f"still {found!r} after {within_s} s"
        time.sleep(LOOK_S)
    return found
