"""The account the embedded servers run as.

PostgreSQL refuses to run as root, so root hands the servers to ``nobody``; anybody else runs them
as themselves.
"""

import os
import pwd
import subprocess
from pathlib import Path
from typing import Any, NamedTuple

from dispatch.serve.errors import ServeError


class Account(NamedTuple):
    """A numeric user and group; ``None`` in its place means: whoever started us."""

    user: int
    group: int


def service_account() -> Account | None:
    """Return the account to drop to, or None when we are not root."""
    if os.geteuid() != 0:
        return None
    try:
        entry = pwd.getpwnam("nobody")
    except KeyError:
        raise ServeError(
            "PostgreSQL does not run as root and this machine has no user 'nobody'. Run as another user."
        ) from None
    return Account(entry.pw_uid, entry.pw_gid)


def switch(account: Account | None) -> dict[str, Any]:
    """Return the ``subprocess`` arguments that run a child as the account."""
    if account is None:
        return {}
    return {"user": account.user, "group": account.group, "extra_groups": []}


def under_a_name(account: Account | None) -> list[str]:
    """Return what to put before a command that insists on its user having a name.

    In a container one often is a bare number, and PostgreSQL's initdb refuses that. In a user
    namespace of its own the command takes the number for that of ``nobody``.
    """
    try:
        pwd.getpwuid(os.geteuid() if account is None else account.user)
    except KeyError:
        return ["unshare", "--user", f"--map-user={pwd.getpwnam('nobody').pw_uid}"]
    return []


def give(path: Path, account: Account | None) -> None:
    """Make the account the owner of the path."""
    if account is not None:
        os.chown(path, account.user, account.group)


def can_enter(folder: Path, account: Account | None) -> bool:
    """Tell whether the account can reach the folder through all its parents."""
    script = ["/bin/sh", "-c", 'cd "$1"', "sh", str(folder)]
    done = subprocess.run(script, cwd="/", stderr=subprocess.DEVNULL, check=False, **switch(account))
    return done.returncode == 0


def can_run(program: Path, account: Account | None) -> bool:
    """Tell whether the account can start the program."""
    try:
        done = subprocess.run(
            [program, "--version"], cwd="/", capture_output=True, check=False, **switch(account)
        )
    except OSError:
        return False
    return done.returncode == 0
