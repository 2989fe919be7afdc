"""Compiling the search, or loading what was compiled before, ahead of the first plan that wants it.

Until then plans are made without it. Nothing here imports the compiler before `warm` is called, so
that a process that never plans never pays for it.
"""

import fcntl
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Lock

_lock = Lock()
_warm = False


def is_warm() -> bool:
    """Whether the search can be used at once in this process."""
    return _warm


def warm() -> None:
    """Make the search ready. Takes up to a minute the first time on a machine, later about a second.

    Of processes that begin together one compiles; the others wait and load what it kept.
    """
    global _warm
    with _lock:
        if not _warm:
            with one_process():
                _search_a_small_night()
            _warm = True


@contextmanager
def one_process() -> Iterator[None]:
    """Let no other process on this machine compile meanwhile, if what is compiled can be kept."""
    from dispatch.planner.search.compiled import compiled

    if not compiled.keeps:
        yield
        return
    with (compiled.folder / "compiling").open("w") as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        yield


def _search_a_small_night() -> None:
    from dispatch.planner.greedy import greedy
    from dispatch.planner.invented_nights import night
    from dispatch.planner.search.night_board import night_board
    from dispatch.planner.search.night_search import Allowed, searched
    from dispatch.planner.search.start import appended

    problem = night(1, 3, 2)
    searched(problem, greedy(problem), Allowed(seconds=1.0, rounds=100))
    appended(night_board(problem).board, range(len(problem.jobs)))
