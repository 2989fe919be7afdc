"""What goes to a line, and what a line answers. A line never raises for trouble of the other side."""

from dataclasses import dataclass
from datetime import timedelta
from typing import Protocol


@dataclass(frozen=True)
class Letter:
    """A message as a line needs it. `key` is the same for every try and every copy of it.

    `text` is the short form; `may_be_copy` says that an earlier try may have arrived.
    """

    key: str
    address: str
    subject: str
    body: str
    text: str
    name: str = ""
    reply_to: str = ""
    reply_code: str = ""
    urgent: bool = False
    may_be_copy: bool = False


@dataclass(frozen=True)
class Taken:
    """The other side has it. `reference` is its own name for the message, if it gave one."""

    reference: str = ""


@dataclass(frozen=True)
class Trouble:
    """The other side has not said that it has it.

    `final`: no further try can help. `perhaps_taken`: it may have it all the same.
    `line_down`: it cannot be reached or does not answer, so that the next message would fare no better.
    `wait`: how long it asks to be left alone. The sentence holds no address of a gateway and no secret.
    """

    sentence: str
    final: bool = False
    perhaps_taken: bool = False
    line_down: bool = False
    wait: timedelta | None = None


class Line(Protocol):
    """An open line to a mail server or a gateway, used for one message after the other."""

    def hand_over(self, letter: Letter) -> Taken | Trouble:
        """Give the letter to the other side and say what came of it."""
        ...

    def close(self) -> None:
        """End the line; it is opened again by the next letter."""
        ...
