"""A migrated database, made once for each state of the migrations and copied for every run.

Building Django's state of several hundred migration steps takes far longer than all that
PostgreSQL does with them, so the files of a migrated server are kept in ``.byrelight/tests``,
named by a digest of what made them. Of runs that begin together one makes them; the others wait,
and copy. Where steps were only added to what is kept, those alone are run. Deleting that folder is
always safe.
"""

import contextlib
import fcntl
import hashlib
import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from dispatch.serve.folder import CHECKOUT
from dispatch.serve.postgres import Cluster
from dispatch.serve.supervisor import Supervisor

KEPT_IN = CHECKOUT / ".byrelight" / "tests"
NAMES = "made_of.json"
KEPT = 4  # digests that stay, for people switch between branches
SOURCES = ("requirements.txt", "*/migrations/*.py", "tests/running/template.py")


def made_of() -> dict[str, str]:
    """Return what makes the files, migrations of ours and pins of packages, each with its digest."""
    paths = sorted(path for pattern in SOURCES for path in CHECKOUT.glob(pattern))
    return {str(path.relative_to(CHECKOUT)): digest(path.read_bytes()) for path in paths}


def kept() -> Path:
    """Return where the files of the migrations as they are now are kept, once they are made."""
    return KEPT_IN / digest(json.dumps(made_of()).encode())


def digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()[:16]


def migrated(cluster: Cluster, log: Path) -> None:
    """Give the cluster, which is not made yet, the files of a server with a migrated database."""
    parts, source = made_of(), kept()
    with contextlib.nullcontext() if source.exists() else one_run():
        if source.exists():
            copy(source / "data", cluster.data)
            return
        if (begun := with_fewest_left(parts)) is not None:
            copy(begun / "data", cluster.data)
        cluster.prepare(throw_away=True)
        with Supervisor(print) as supervisor:
            supervisor.start(cluster.server(log, throw_away=True), cluster.ready)
            migrate(cluster.url)
        with contextlib.suppress(OSError, subprocess.CalledProcessError):  # a read-only checkout
            keep(cluster, source, parts)


def with_fewest_left(parts: dict[str, str]) -> Path | None:
    """Return the kept folder that has most of the parts and nothing else, from which to go on."""
    found = {path.parent: json.loads(path.read_text()) for path in KEPT_IN.glob(f"*/{NAMES}")}
    fitting = [path for path, names in found.items() if names.items() <= parts.items()]
    return max(fitting, key=lambda path: len(found[path]), default=None)


@contextlib.contextmanager
def one_run() -> Iterator[None]:
    """Let no other run make the files meanwhile, if they can be kept."""
    with contextlib.ExitStack() as held:
        with contextlib.suppress(OSError):
            KEPT_IN.mkdir(parents=True, exist_ok=True)
            file = held.enter_context(KEPT_IN.with_name("tests-making").open("w"))
            fcntl.flock(file, fcntl.LOCK_EX)
        yield


def migrate(url: str) -> None:
    """Run every migration, in a process that knows this database only."""
    command = [sys.executable, "manage.py", "migrate", "--verbosity", "0"]
    environment = {**os.environ, "DATABASE_URL": url, "REDIS_URL": "redis://unused"}
    done = subprocess.run(command, cwd=CHECKOUT, env=environment, capture_output=True, text=True, check=False)
    if done.returncode:
        raise pytest.UsageError(f"the migrations fail:\n{done.stderr}")


def keep(cluster: Cluster, source: Path, parts: dict[str, str]) -> None:
    """Keep the files for later runs, whole or not at all, and drop the oldest."""
    KEPT_IN.mkdir(parents=True, exist_ok=True)
    aside = Path(tempfile.mkdtemp(dir=KEPT_IN))
    copy(cluster.data, aside / "data")
    (aside / NAMES).write_text(json.dumps(parts))
    with contextlib.suppress(OSError):  # another run was first
        aside.rename(source)
    oldest_last = sorted(KEPT_IN.iterdir(), key=lambda path: path.stat().st_mtime, reverse=True)
    for path in [aside, *oldest_last[KEPT:]]:
        shutil.rmtree(path, ignore_errors=True)


def copy(source: Path, target: Path) -> None:
    """Copy a data folder with its owners and modes, which PostgreSQL insists on."""
    subprocess.run(["cp", "-a", source, target], check=True)
