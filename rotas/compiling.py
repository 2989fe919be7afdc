"""How the searches are compiled: by numba, without the interpreter's lock, and kept on disk.

numba keys what it keeps by the one file a function stands in, and so would go on using a function of
another file as it once was: here all that is kept of a package stands in a folder named by all its
sources together.
"""

import hashlib
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numba
from numba import njit

OPTIONS: dict[str, Any] = {
    "nogil": True,
    "_nrt": False,  # no counting of references, as nothing here makes or keeps an array: five times as fast
    "error_model": "numpy",
    "forceinline": True,  # a call that hands over a board hands over a hundred numbers: thrice the speed
}


class Compiler:
    """A decorator that compiles functions of the package in this folder of sources.

    ``folder`` is where what was compiled is kept, below ``NUMBA_CACHE_DIR`` where that is set, and
    ``keeps`` whether it can be written to; where it cannot, each process compiles for itself.
    """

    def __init__(self, package: Path) -> None:
        self.folder = kept_in(package)
        self.keeps = _can_keep(self.folder)

    def __call__(self, function: Callable[..., Any]) -> Any:
        """Return the function compiled when it is first called."""
        if self.keeps:  # numba knows one folder for all, and asks for it here: two packages may be loaded
            numba.config.CACHE_DIR = str(self.folder)  # type: ignore[attr-defined]  # set at import by numba itself
        return njit(**OPTIONS, cache=self.keeps)(function)


def kept_in(package: Path) -> Path:
    """The folder of what has been compiled from these very sources."""
    sources = b"".join(path.read_bytes() for path in sorted(package.glob("*.py")))
    name = f"{package.name}-{hashlib.sha256(sources).hexdigest()[:16]}"
    return Path(os.environ.get("NUMBA_CACHE_DIR") or package / "__pycache__") / name


def _can_keep(folder: Path) -> bool:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        return False
    return os.access(folder, os.W_OK)
