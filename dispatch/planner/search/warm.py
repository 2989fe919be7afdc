"""Compiling the search, or loading what was compiled before, ahead of the first plan that wants it.

Until then plans are made without it. Nothing here imports the compiler before `warm` is called, so
that a process that never plans never pays for it.
"""

from threading import Lock

_lock = Lock()
_warm = False


def is_warm() -> bool:
    """Whether the search can be used at once in this process."""
    return _warm


def warm() -> None:
    """Make the search ready. Takes up to a minute the first time on a machine, later about a second."""
    global _warm
    with _lock:
        if not _warm:
            _search_a_small_night()
            _warm = True


def _search_a_small_night() -> None:
    from dispatch.planner.greedy import greedy
    from dispatch.planner.invented_nights import night
    from dispatch.planner.search.night_search import Allowed, searched

    problem = night(1, 3, 2)
    searched(problem, greedy(problem), Allowed(seconds=1.0, rounds=100))
