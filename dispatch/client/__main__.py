"""Reading the command line."""

import argparse
import getpass
import sys
from collections.abc import Sequence
from datetime import UTC, datetime

import httpx

from dispatch.client import commands
from dispatch.client.errors import NoNetwork, Stop
from dispatch.client.folder import Folder, default_path
from dispatch.client.work import Work

DECLINES = (
    "on-a-job",
    "too-far",
    "kit-missing",
    "skill",
    "too-tired",
    "unsafe",
    "conflict",
    "unwell",
    "no-reason",
)
STATES = ("fresh", "ok", "tired", "not-safe")
SPITE = "why it was given although a warning stops it"
WHEN = "22:15 on the practice's clock, or ISO 8601 with its offset; now, unless said"


def parser() -> argparse.ArgumentParser:
    """Return the grammar of the command line."""
    top = argparse.ArgumentParser(
        prog="python -m dispatch.client",
        description="Accept and work calls, with or without signal.",
        epilog="Exit status: 0 done, 1 refused, 2 say it differently, 3 sending (no network), 4 sign in.",
    )
    verbs = top.add_subparsers(dest="verb", required=True, metavar="COMMAND")
    enter = verbs.add_parser("sign-in", help="get a token; the password is asked for, or read from a pipe")
    enter.add_argument("--address", required=True, help="such as https://desk.example")
    enter.add_argument("name")
    _add(verbs, "sign-out", commands.sign_out, "end the token")
    _add(verbs, "offers", commands.offers, "my open offers")
    _add(verbs, "mine", commands.mine, "my visits under way")
    _add(verbs, "plan", commands.plan, "the plan in force")
    _add(verbs, "send", commands.send, "send what waits for a network")
    accept = _add(verbs, "accept", commands.accept, "accept an offer")
    accept.add_argument("offer", type=int)
    accept.add_argument("--at", help=WHEN)
    decline = _add(verbs, "decline", commands.decline, "decline an offer; the next vet is asked")
    decline.add_argument("offer", type=int)
    decline.add_argument("reason", choices=DECLINES)
    decline.add_argument("--note", default="")
    _add_reports(verbs)
    _add_treat(verbs)
    well = _add(verbs, "i-am", commands.say_how_i_am, "how I am; not-safe stands me down, unquestioned")
    well.add_argument("state", choices=STATES)
    well.add_argument("--slept", type=float, metavar="HOURS", help="in the last 24 h, in quarters")
    return top


def _add(verbs, name: str, run, words: str) -> argparse.ArgumentParser:  # type: ignore[no-untyped-def]  # argparse's own types are private
    verb: argparse.ArgumentParser = verbs.add_parser(name, help=words)
    verb.set_defaults(run=run)
    return verb


def _add_reports(verbs) -> None:  # type: ignore[no-untyped-def]  # as above
    for kind, words in commands.REPORTS.items():
        name = "minutes-left" if kind == "estimate" else kind.replace("_", "-")
        verb = _add(verbs, name, commands.report, f"report: {words}")
        verb.set_defaults(kind=kind)
        if kind == "estimate":
            verb.add_argument("minutes", type=int)
        verb.add_argument("--visit", type=int, help="the one that fits, unless said")
        verb.add_argument("--at", help=WHEN)
        verb.add_argument("--note", default="")


def _add_treat(verbs) -> None:  # type: ignore[no-untyped-def]  # as above
    verb = _add(verbs, "treat", commands.treat, "record a treatment")
    verb.add_argument("--visit", type=int, help="the one that fits, unless said")
    verb.add_argument("--medicine", type=int, required=True, help="its number in the practice's list")
    verb.add_argument("--route", required=True, help="as the label writes it")
    verb.add_argument("--amount", type=float, required=True)
    verb.add_argument("--unit", required=True)
    verb.add_argument("--doses", type=int, default=1)
    subject = verb.add_mutually_exclusive_group(required=True)
    subject.add_argument("--animal", type=int)
    subject.add_argument("--group", type=int)
    subject.add_argument("--tag")
    verb.add_argument("--species", help="of a tag not yet known")
    verb.add_argument("--in-milk", action="store_true", default=None)
    verb.add_argument("--at", help=f"first dose: {WHEN}")
    verb.add_argument("--last-at", help="last dose, where there are several")
    verb.add_argument("--weight", type=float, metavar="KG", help="of one animal; a ceiling per kg needs it")
    verb.add_argument("--weight-known-by", choices=("scales", "band", "guess"))
    verb.add_argument("--batch")
    verb.add_argument("--marks", help="leg band, tail tape, spray")
    verb.add_argument("--off-label", metavar="REASON", help="outside the label, and why")
    verb.add_argument("--in-spite-of", metavar="REASON", help=SPITE)
    verb = _add(verbs, "again", commands.again, "send the last refused treatment again, as it was typed")
    verb.add_argument("--in-spite-of", metavar="REASON", help=SPITE)
    verb = _add(verbs, "let-go", commands.let_go, "let the last refused treatment go")
    verb.add_argument("reason", help="such as: not given")


def main(arguments: Sequence[str] | None = None, transport: httpx.BaseTransport | None = None) -> int:
    """Run one command and return its exit status. `transport` stands for the network."""
    said = parser().parse_args(arguments)
    folder = Folder(default_path())
    try:
        with folder.locked():
            return _sign_in(folder, said) if said.verb == "sign-in" else _run(folder, said, transport)
    except Stop as stop:
        print(stop, file=sys.stderr)
        return stop.status


def _sign_in(folder: Folder, said: argparse.Namespace) -> int:
    password = getpass.getpass() if sys.stdin.isatty() else sys.stdin.readline().rstrip("\n")
    print(commands.sign_in(folder, said.address, said.name, password))
    return 0


def _run(folder: Folder, said: argparse.Namespace, transport: httpx.BaseTransport | None) -> int:
    work = Work(folder, datetime.now(UTC), print, transport)
    try:
        said.run(work, said)
    finally:
        work.wire.close()
    if any(work.journal.waiting()):
        return NoNetwork.status
    return 1 if work.refused else 0


if __name__ == "__main__":
    sys.exit(main())
