"""manage.py load_demo: the demo practice with a live evening."""

from datetime import datetime
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone
from django.utils.dateparse import parse_datetime

from dispatch.demo.load.demo import load
from dispatch.demo.scenario.read import read_scenario
from rotas.models import Practice


class Command(BaseCommand):
    help = (
        "Load the demo practice, with its evening laid so that the moment it shows is now. A second run "
        "changes nothing while the evening goes on; when nobody has done anything for 90 minutes it ends "
        "the old calls and lays a fresh evening. All people, places and practices are invented."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--at", help="ISO 8601 instant with an offset to take for now, such as 2026-03-27T21:40:00Z"
        )
        parser.add_argument(
            "--reset",
            action="store_true",
            help="set the present demo practice aside, its rows kept, and load a new one",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        _require_room_for_a_demo()
        loaded = load(_moment(options["at"]) or timezone.now(), reset=options["reset"])
        self.stdout.write(loaded.sentence)


def _require_room_for_a_demo() -> None:
    """Refuse a database with real practices in it: the demo's passwords are public."""
    slug = read_scenario().practice.slug
    if Practice.objects.exclude(slug__startswith=slug[:20]).exists():
        raise CommandError(
            "This database holds other practices, and the demo's passwords are public. "
            "Name an empty database by DATABASE_URL, or leave it out and use the demo's own."
        )


def _moment(text: str | None) -> datetime | None:
    if text is None:
        return None
    try:
        moment = parse_datetime(text)
    except ValueError:
        moment = None
    if moment is None or moment.tzinfo is None:
        raise CommandError(f"{text!r} is no instant. Write one such as 2026-03-27T21:40:00Z.")
    return moment
