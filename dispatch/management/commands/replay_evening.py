"""manage.py replay_evening: the rest of the demo's evening, played through the API."""

import os
import re
from contextlib import suppress
from datetime import timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from dispatch.client.errors import NoNetwork, Refused, Stop
from dispatch.client.wire import Wire
from dispatch.client.words import plain
from dispatch.demo.replay.play import Replay
from dispatch.demo.replay.stage import WallClock
from dispatch.demo.scenario.kinds import Scenario
from dispatch.demo.scenario.read import ROADS, read_scenario
from dispatch.demo.sign_ins import SIGN_INS
from dispatch.serve.folder import CHECKOUT, NAMED
from dispatch.travel import travel_times

ADDRESS = "http://127.0.0.1:8000"
LOOK = timedelta(seconds=1)
FASTEST = 600


class Command(BaseCommand):
    help = (
        "Play the rest of the demo's evening against a running demo, N times faster than life: callers "
        "ring, reception offers what the plan says, vets answer, drive, work, treat and go home, all through "
        "the API. Only the waits are shortened: everything is dated by the real clock, so at speed 60 a job "
        "of an hour is on record as one of a minute, and the planner, which expects real minutes, is "
        "surprised by how soon vets are free. Offers that nobody answers are taken back by reception, for "
        "they would lapse only after real minutes. What a person does on the pages meanwhile wins."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--speed", type=float, default=60.0, help="times faster than life, 1 to 600 (60)")
        parser.add_argument(
            "--url", default="", help="address of the site; that of the running demo if unset"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        speed = options["speed"]
        if not 1 <= speed <= FASTEST:
            raise CommandError(f"--speed is {speed:g}; say a number from 1 to {FASTEST}.")
        demo = read_scenario()
        try:
            lines = sign_in_all(demo, options["url"] or running_demo())
            self._replay(demo, lines, speed).play()
        except KeyboardInterrupt:
            self.stdout.write("Stopped. What has happened stays.")
        except NoNetwork as trouble:
            raise CommandError(
                f"{trouble} Start the demo first (make demo), or name it with --url."
            ) from None
        except Stop as trouble:
            raise CommandError(f"{trouble}") from None

    def _replay(self, demo: Scenario, lines: dict[str, Wire], speed: float) -> Replay:
        zone = ZoneInfo(demo.practice.time_zone)

        def say(line: str) -> None:
            self.stdout.write(f"{timezone.now().astimezone(zone):%H:%M:%S}  {plain(line)}")
            self.stdout.flush()

        return Replay(
            demo,
            demo.calls,
            lines,
            from_min=demo.now_min,
            clock=WallClock(),
            speed=speed,
            roads=travel_times(ROADS, zone=zone),
            say=say,
            look=LOOK,
        )


def sign_in_all(demo: Scenario, address: str) -> dict[str, Wire]:
    """Sign everybody in who has a password; return their connections by the script's ids."""
    ids = {member.username: member.id for member in demo.members}
    ids |= {vet.member.username: vet.id for vet in demo.vets}
    return {ids[username]: _signed_in(address, username, password) for _, username, password, _ in SIGN_INS}


def _signed_in(address: str, username: str, password: str) -> Wire:
    door = Wire(address)
    try:
        given = door.post("sign-in", {"username": username, "password": password})
    except Refused as refusal:
        raise CommandError(f"{username} cannot sign in at {address}: {refusal} Is the demo loaded?") from None
    finally:
        door.close()
    return Wire(address, given["token"])


def running_demo() -> str:
    """Return where the demo of this checkout says it listens, else its usual address."""
    folder = Path(os.environ.get(NAMED) or CHECKOUT / ".byrelight")
    with suppress(OSError):
        found = re.search(r"http://[^\s,]+", (folder / "lock").read_text())
        return found[0].rstrip("/") if found else ADDRESS
    return ADDRESS
