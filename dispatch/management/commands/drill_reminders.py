"""manage.py drill_reminders: thousands of reminders while workers, broker and database are killed."""

import os
import shutil
import tempfile
from argparse import Namespace
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from dispatch.drill.faults import Counts, Kind
from dispatch.drill.tally import Tally
from dispatch.serve.account import give, service_account
from dispatch.serve.errors import ServeError
from dispatch.serve.folder import socket_folder
from dispatch.serve.supervisor import Stopped


class Command(BaseCommand):
    help = (
        "Let reminders fall due by the thousand on a PostgreSQL, a Redis-protocol server and a mail sink of "
        "its own, kill workers (half of them between the mail server's yes and their own note of it), "
        "restart broker and database, let the mail server refuse, and count what arrived. Exit status 1 "
        "unless every message came and none under a second key."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--reminders", type=int, default=10_000, help="that are due at once (10000)")
        parser.add_argument("--workers", type=int, default=2, help="processes that send (2)")
        parser.add_argument("--schedulers", type=int, default=1, help="clocks; 2 is a mistake to survive (1)")
        parser.add_argument("--kills", type=int, default=20, help="of workers, by SIGKILL (20)")
        parser.add_argument("--broker-restarts", type=int, default=3, help="empty each time (3)")
        parser.add_argument("--database-restarts", type=int, default=1, help="(1)")
        parser.add_argument("--refusals", type=int, default=1, help="spells of 15 s without mail (1)")
        parser.add_argument("--seed", type=int, default=1, help="of the moments of the faults (1)")
        parser.add_argument("--limit", type=int, default=1800, help="seconds after which it gives up (1800)")

    def handle(self, *args: Any, **options: Any) -> None:
        asked = self._asked(options)
        account = service_account()
        folder = socket_folder(account)
        files = Path(tempfile.mkdtemp(prefix="files-", dir=folder))
        give(files, account)
        try:
            tally = self._drilled(asked, files, account)
        except (ServeError, ModuleNotFoundError) as trouble:
            raise CommandError(f"{trouble}") from None
        except Stopped:
            raise CommandError("Stopped before the count.") from None
        finally:
            shutil.rmtree(folder, ignore_errors=True)
        if not tally.met:
            raise CommandError("Not every message came once under one key.")

    def _asked(self, options: dict[str, Any]) -> Namespace:
        for name in ("reminders", "workers", "schedulers", "limit"):
            if options[name] < 1:
                raise CommandError(f"--{name} is {options[name]}; say a number from 1.")
        try:
            counts = Counts(
                options["kills"],
                options["broker_restarts"],
                options["database_restarts"],
                options["refusals"],
            )
        except ValueError as trouble:
            raise CommandError(f"{trouble}") from None
        return Namespace(**options, counts=counts)

    def _drilled(self, asked: Namespace, folder: Path, account: Any) -> Tally:
        from dispatch.drill.drill import Drill  # needs the mail sink, which only a set-up for tests has

        try:
            drill = Drill(asked, folder, account, self._say)
        except ValueError as trouble:
            raise CommandError(f"{trouble}") from None
        with drill.supervisor.signals():
            tally = drill.run(os.environ)
        self._report(drill, tally)
        return tally

    def _say(self, line: str) -> None:
        self.stdout.write(line)
        self.stdout.flush()

    def _report(self, drill: Any, tally: Tally) -> None:
        kills = drill.done[Kind.KILL] + drill.done[Kind.KILL_IN_THE_ACT]
        lines = (
            ("reminders due", tally.reminders),
            ("reminders that no message carries", tally.reminders_open),
            ("messages owed", len(tally.owed)),
            ("messages arrived", len(tally.arrived)),
            ("lost", len(tally.lost)),
            ("not called sent", len(tally.unsent)),
            ("farms told of one cause twice", tally.told_twice),
            ("duplicates at a gateway that honours the key", len(tally.strangers)),
            ("copies under the same key, elsewhere", tally.copies),
            ("workers killed", f"{kills}, {drill.done[Kind.KILL_IN_THE_ACT]} of them in the act"),
            ("broker restarted", drill.done[Kind.BROKER]),
            ("database restarted", drill.done[Kind.DATABASE]),
            ("refused by the mail server", drill.sink.refused),
            ("programs that ended by themselves", drill.fell),
            ("seconds from the first tick to the last message", f"{drill.took:.0f}"),
            ("messages a second, all in all", f"{len(drill.sink.moments) / drill.took:.1f}"),
            ("messages a second, best ten seconds", f"{drill.best_rate:.1f}"),
        )
        for words, figure in lines:
            self._say(f"{words:<50} {figure}")
