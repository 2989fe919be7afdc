"""Somebody who is signed in, and says aloud what they do."""

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any, Protocol
from uuid import uuid4

from dispatch.client.errors import Refused, TryLater

Say = Callable[[str], None]
TRIES = 3


class Line(Protocol):
    """A signed-in connection to the API, such as `dispatch.client.wire.Wire`."""

    def get(self, path: str, **query: Any) -> Any:
        """Return what is read there."""

    def post(self, path: str, body: dict[str, Any], key: str = "") -> Any:
        """Send a write under its key."""


class Person:
    """One member at their telephone or desk. A refusal is told and is no error: life goes on."""

    def __init__(self, name: str, line: Line, say: Say) -> None:
        self.name, self.line, self.say = name, line, say
        self.first_name = name.split()[0]
        self.me: dict[str, Any] = line.get("me")

    def rows(self, path: str, **query: Any) -> list[dict[str, Any]]:
        """Return the first rows of a list, more than any evening has."""
        found: list[dict[str, Any]] = self.line.get(path, page_size=200, **query)["results"]
        return found

    def does(self, path: str, **body: Any) -> Any:
        """Send a write and return the answer, or None where it was refused."""
        key = uuid4().hex
        for attempt in range(TRIES):
            try:
                return self.line.post(path, body, key)
            except Refused as refusal:
                self.say(f"{self.first_name} is told: {refusal}")
                return None
            except TryLater:
                if attempt == TRIES - 1:
                    raise
        return None


def instant(at: datetime) -> str:
    """Write an instant as the API takes it."""
    return at.astimezone(UTC).isoformat()


def moment(text: str | None) -> datetime | None:
    """Read an instant of the API."""
    return datetime.fromisoformat(text) if text else None
