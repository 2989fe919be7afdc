"""The web process looks for reference cycles seldom, and still frees what nobody holds."""

import subprocess
import sys

LOOK = """
import gc
import weakref
from dispatch.garbage import YOUNG, look_seldom

class Held:
    pass

assert gc.get_threshold()[0] < YOUNG
look_seldom()
assert gc.isenabled()
assert gc.get_threshold() == (YOUNG, 20, 20)
assert gc.get_freeze_count() > 0

one = Held()
gone = weakref.ref(one)
del one
assert gone() is None  # no cycle: freed at once

cycle = Held()
cycle.itself = cycle
left = weakref.ref(cycle)
del cycle
assert left() is not None
kept = [[] for _ in range(2 * YOUNG)]
assert left() is None  # a cycle: freed when so many more have come
print("as told", len(kept))
"""


def test_what_nobody_holds_is_freed_at_once_and_a_cycle_by_and_by():
    """In a process of its own, for it changes how the whole process is run."""
    done = subprocess.run([sys.executable, "-c", LOOK], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout) == (0, "as told 100000\n"), done.stderr
