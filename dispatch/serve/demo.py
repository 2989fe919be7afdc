"""The demo: every process of the site on this machine, in one terminal, from nothing.

Servers, then the database, then web, workers and clock. Nothing here imports Django: the settings
want to know where the database is, and it is started here.
"""

import argparse
import os
import shutil
import signal
import socket
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path

from dispatch.demo.sign_ins import SIGN_INS
from dispatch.serve import programs
from dispatch.serve.account import service_account
from dispatch.serve.environment import publish
from dispatch.serve.errors import ServeError
from dispatch.serve.folder import DataFolder, folder_path
from dispatch.serve.leash import follow_parent
from dispatch.serve.port import DEFAULT_PORT, address, answers, listen
from dispatch.serve.postgres import Cluster
from dispatch.serve.supervisor import Stopped, Supervisor
from dispatch.serve.valkey import Broker


def main(argv: Sequence[str]) -> int:
    """Run the demo until it is stopped; return the exit status."""
    options = parse(argv)
    if os.environ.pop("BYRELIGHT_LEASH", ""):  # set by make, whose end must be ours
        follow_parent(signal.SIGTERM)
    supervisor = Supervisor(say)
    with supervisor.signals():
        try:
            Demo(options, supervisor).run()
        except Stopped:
            say("Stopped. The data is kept for the next start.")
        except ServeError as problem:
            say(str(problem))
            return 1
    return 0


def parse(argv: Sequence[str]) -> argparse.Namespace:
    """Read the options; the environment gives their defaults."""
    parser = argparse.ArgumentParser(
        "manage.py demo", description="Start the whole site with the demo practice."
    )
    parser.add_argument(
        "--host", default=os.environ.get("BYRELIGHT_HOST", "127.0.0.1"), help="listen on this address"
    )
    parser.add_argument("--port", type=port_number, default=os.environ.get("BYRELIGHT_PORT", DEFAULT_PORT))
    return parser.parse_args(argv)


def port_number(text: str) -> int:
    """Return a TCP port; 0 stands for any free one."""
    if not text.isdecimal() or int(text) > 65535:
        raise argparse.ArgumentTypeError(f"{text!r} is no port; give a number from 0 to 65535")
    return int(text)


def say(line: str) -> None:
    """Tell the person at the terminal; a closed terminal is no reason to fail."""
    with suppress(BrokenPipeError):
        print(line, flush=True)


class Demo:
    """One run of the demo: its folder, its environment and its processes."""

    def __init__(self, options: argparse.Namespace, supervisor: Supervisor) -> None:
        self.options, self.supervisor = options, supervisor
        self.account = service_account()
        self.folder = DataFolder(folder_path(os.environ, self.account), self.account)
        self.folder.hold()
        self.environment = programs.environment(os.environ, options.host, self.folder.secret_key())

    def run(self) -> None:
        """Start everything, print where it is, and keep it running."""
        sockets = self.folder.sockets()
        try:
            with self.supervisor, self._listen() as listener:
                # what stands before the path in a link of a message
                self.environment.setdefault("SITE_ADDRESS", address(listener).rstrip("/"))
                self._start_servers(sockets)
                self._start_site(listener)
                self._welcome(address(listener))
                self.supervisor.keep()
        finally:
            self.folder.environment.unlink(missing_ok=True)
            shutil.rmtree(sockets, ignore_errors=True)

    def _listen(self) -> socket.socket:
        say(f"Byrelight keeps its demo data in {self.folder.path}")
        host, wanted = self.options.host, self.options.port
        try:
            listener = listen(host, wanted)
        except OSError as problem:
            raise ServeError(f"Cannot listen on {host}: {problem}. Name another with --host.") from problem
        if wanted not in (0, listener.getsockname()[1]):
            say(f"Port {wanted} is taken by another program; using {listener.getsockname()[1]}.")
        return listener

    def _start_servers(self, sockets: Path) -> None:
        """Start the embedded servers, save those the environment names."""
        servers, logs = self.folder.servers, self.folder.logs
        if "DATABASE_URL" not in self.environment:
            cluster = Cluster(servers, sockets, self.account)
            cluster.prepare()
            self.supervisor.start(cluster.server(logs / "postgres.log"), cluster.ready)
            self.environment["DATABASE_URL"] = cluster.url
        if "REDIS_URL" not in self.environment:
            broker = Broker(servers, sockets, self.account)
            self.supervisor.start(broker.server(logs / "valkey.log"), broker.ready)
            self.environment["REDIS_URL"] = broker.url

    def _start_site(self, listener: socket.socket) -> None:
        """Load the web process while the database is brought up to date; only then call on it."""
        web = programs.web(self.environment, listener)
        self.supervisor.start(web)
        self.supervisor.run(programs.prepare(self.environment))
        publish(self.folder.environment, self.environment)
        self.supervisor.await_ready(web, lambda: answers(listener))
        self.folder.describe(f"process {os.getpid()}, {address(listener)}")
        for child in programs.workers(self.environment, self.folder.path):
            self.supervisor.start(child)

    def _welcome(self, url: str) -> None:
        say(f"\nOpen {url}   (Ctrl-C stops everything; the data stays)\n")
        for role, username, password, name in SIGN_INS:
            say(f"  {role:<10} {username:<9} {password:<18} {name}")
        say("")
