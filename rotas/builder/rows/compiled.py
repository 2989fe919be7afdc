"""How the search over rows is compiled: without the interpreter's lock, kept on disk, and without counting
references (five times as fast), as nothing compiled here makes or keeps an array.

numba keys what it keeps by the one file a function stands in: here all that is kept stands in a folder
named by all sources together, so that nothing old is ever used.
"""

import hashlib
import os
from pathlib import Path
from typing import Any

import numba
from numba import njit

HERE = Path(__file__).resolve().parent


def kept_in() -> Path:
    """The folder of what has been compiled from these very sources."""
    sources = b"".join(path.read_bytes() for path in sorted(HERE.glob("*.py")))
    name = f"rows-{hashlib.sha256(sources).hexdigest()[:16]}"
    return Path(os.environ.get("NUMBA_CACHE_DIR") or HERE / "__pycache__") / name


def _can_keep(folder: Path) -> bool:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        return False
    return os.access(folder, os.W_OK)


FOLDER = kept_in()
KEEPS = _can_keep(FOLDER)
if KEEPS:
    numba.config.CACHE_DIR = str(FOLDER)  # type: ignore[attr-defined]  # set at import by numba itself

_OPTIONS: dict[str, Any] = {
    "nogil": True,
    "cache": KEEPS,
    "_nrt": False,
    "error_model": "numpy",
    "forceinline": True,
}
compiled = njit(**_OPTIONS)
