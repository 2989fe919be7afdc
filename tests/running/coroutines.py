"""Run async code from a test."""

import asyncio
from collections.abc import Coroutine
from concurrent.futures import ThreadPoolExecutor
from typing import Any, TypeVar

Outcome = TypeVar("Outcome")


def outcome(coroutine: Coroutine[Any, Any, Outcome]) -> Outcome:
    """Return what the coroutine returns, run in a thread of its own.

    The main thread has Playwright's loop in it from the first browser test on, and takes no other.
    """
    with ThreadPoolExecutor(1) as pool:
        return pool.submit(asyncio.run, coroutine).result()
