"""A mail server that keeps what it accepts."""

import socket
from dataclasses import dataclass
from datetime import UTC, datetime
from email import message_from_bytes
from email.message import Message
from typing import Any

from aiosmtpd.controller import Controller


@dataclass(frozen=True)
class Mail:
    """One accepted mail, with the instant at which it came by the (travelled) clock."""

    at: datetime
    to: tuple[str, ...]
    message: Message

    @property
    def id(self) -> str:
        """The Message-ID."""
        return str(self.message["Message-ID"])


class Mailbox:
    """Keeps every mail in order."""

    def __init__(self) -> None:
        self.mails: list[Mail] = []
        with socket.create_server(("127.0.0.1", 0)) as free:
            port = free.getsockname()[1]
        self.server = Controller(self, hostname="127.0.0.1", port=port)

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:  # the library's name
        """Take a mail."""
        message = message_from_bytes(envelope.content)
        self.mails.append(Mail(datetime.now(UTC), tuple(envelope.rcpt_tos), message))
        return "250 taken"
