"""What the drill's database says, asked from outside the site."""

from dataclasses import dataclass

import psycopg

WAITING = "SELECT count(*) FROM cases_reminder WHERE state = 'waiting'"
UNSENT = "SELECT count(*) FROM rotas_outboxmessage WHERE state IN ('waiting', 'sending')"
FARMS = "address LIKE 'farm%@drill.invalid'"
MESSAGES = f"SELECT message_id, state FROM rotas_outboxmessage WHERE {FARMS}"
TO_ONE = f"SELECT 1 FROM rotas_outboxmessage WHERE {FARMS} GROUP BY address HAVING count(*) > 1"
TWICE = f"SELECT count(*) FROM ({TO_ONE}) more_than_one"


@dataclass(frozen=True)
class Standing:
    """What is still to do: reminders without a message, and messages that have not gone."""

    waiting: int
    unsent: int

    @property
    def done(self) -> bool:
        """Whether nothing is left."""
        return self.waiting == self.unsent == 0


class Database:
    """The server at an address; every question has a connection of its own, for it may be restarted."""

    def __init__(self, url: str) -> None:
        self.url = url

    def _rows(self, question: str) -> list[tuple[str, ...]]:
        with psycopg.connect(self.url, connect_timeout=5) as connection:
            return connection.execute(question.encode()).fetchall()

    def _count(self, question: str) -> int:
        return int(self._rows(question)[0][0])

    def standing(self) -> Standing:
        """Return what is still to do."""
        return Standing(self._count(WAITING), self._count(UNSENT))

    def messages(self) -> dict[str, str]:
        """Return the state of every message to a farm, by its idempotency key."""
        return {key: state for key, state in self._rows(MESSAGES)}

    def told_twice(self) -> int:
        """Return how many farms have more than the one message that they are owed."""
        return self._count(TWICE)
