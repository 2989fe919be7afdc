"""No process outlives the one that started it, however that one ends.

The kernel sends the chosen signal to a child when its parent is gone (Linux: PR_SET_PDEATHSIG), so
even SIGKILL of the supervisor leaves nothing behind. The kernel means the parent *thread*: start
children from the main thread only. Elsewhere than on Linux this does nothing, and only an orderly
stop ends the children.
"""

import ctypes
import os
import signal
import sys
from collections.abc import Callable

PR_SET_PDEATHSIG = 1
# Loaded here, because nothing may be imported or allocated freely between fork and exec.
LIBC = ctypes.CDLL(None, use_errno=True) if sys.platform == "linux" else None


def follow_parent(death_signal: signal.Signals) -> None:
    """Ask the kernel to send this process ``death_signal`` when its parent ends."""
    if LIBC is not None:
        LIBC.prctl(PR_SET_PDEATHSIG, int(death_signal), 0, 0, 0)


def leash(death_signal: signal.Signals) -> Callable[[], None]:
    """Return what a child runs between fork and exec to be tied to this process."""
    parent = os.getpid()

    def in_child() -> None:
        follow_parent(death_signal)
        if os.getppid() != parent:  # the parent ended before the kernel was asked
            os._exit(1)

    return in_child
