"""How seldom Python looks for reference cycles in a process that makes pages.

A page of a year makes several hundred thousand small values, hardly one of them in a cycle, and looking
through them again and again took a fifth of its time. Memory is still given back at once by counting
references; only cycles wait a little longer.
"""

import gc

YOUNG = 50_000  # objects more than were freed before the young are looked through; Python's own is 700


def look_seldom() -> None:
    """Set what is loaded aside for good, and look through what comes seldom."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(YOUNG, 20, 20)
