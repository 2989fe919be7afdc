"""The programs of the site that the demo starts, and the environment they share."""

import socket
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from dispatch.serve.child import Child
from dispatch.serve.folder import CHECKOUT

# What Celery says of root and of users without a name is true of a deployed site; the demo serves
# this machine only.
NO_WARNING = (
    "ignore:You're running the worker with superuser privileges,ignore:An entry for the specified gid"
)
QUIET = ("--without-gossip", "--without-mingle", "--without-heartbeat")  # for workers on one machine
LOCAL_HOSTS = ["localhost", "127.0.0.1", "[::1]"]


def environment(inherited: Mapping[str, str], host: str, secret_key: str) -> dict[str, str]:
    """Return the variables of every program: the demo's own settings over those inherited."""
    open_to_others = host not in {"localhost", "127.0.0.1", "::1"}
    values = {
        "BYRELIGHT_MODE": "demo",
        "DJANGO_SETTINGS_MODULE": "dispatch.settings",
        "SECRET_KEY": secret_key,
        "ALLOWED_HOSTS": "*" if open_to_others else ",".join(LOCAL_HOSTS),
        "PYTHONUNBUFFERED": "1",
        "PYTHONWARNINGS": NO_WARNING,
    }
    return {**inherited, **values}


def python(name: str, env: Mapping[str, str], module: str, *arguments: str, **options: Any) -> Child:
    """Return a child that runs a module of the project with this interpreter."""
    argv = [sys.executable, "-m", module, *arguments]
    return Child(name, argv, env=env, cwd=CHECKOUT, tier=1, **options)


def prepare(env: Mapping[str, str]) -> Child:
    """Return the program that brings the database up to date and ends."""
    return python("database set-up", env, "dispatch.serve.prepare")


def web(env: Mapping[str, str], listener: socket.socket) -> Child:
    fd = listener.fileno()
    return python("web", {**env, "DATABASE_POOL": "5"}, "dispatch.serve.web", str(fd), pass_fds=(fd,))


def workers(env: Mapping[str, str], folder: Path) -> list[Child]:
    """Return the Celery processes.

    The planner and the rota builder have process pools, because only there a task can be ended when it
    takes too long, and one each, because a rota takes minutes and a plan cannot wait for it; messages
    and the clock mostly wait for others, so they share threads.
    """
    planner = ("worker", "-Q", "plan", "-P", "prefork", "-c", "1", "-n", "plan@demo", *QUIET)
    builder = ("worker", "-Q", "build", "-P", "prefork", "-c", "1", "-n", "build@demo", *QUIET)
    others = ("worker", "-Q", "messages,clock", "-P", "threads", "-c", "4", "-n", "work@demo", *QUIET)
    clock = ("beat", "-s", str(folder / "beat-schedule"), "--pidfile", "")
    return [
        celery("planner", env, *planner),
        celery("rota builder", env, *builder),
        celery("worker", env, *others),
        celery("clock", env, *clock),
    ]


def celery(name: str, env: Mapping[str, str], *arguments: str) -> Child:
    return python(name, env, "celery", "--quiet", "-A", "dispatch.celery:app", *arguments, "-l", "warning")
