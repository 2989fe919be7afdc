"""The lines that are set up, and those that are open in one run of the outbox.

A practice's own gateway is named in the environment and nowhere else: TEXT_GATEWAY_<SLUG> before
TEXT_GATEWAY, so that no address with its secret stands in the database, on a page or in a log.
"""

import re
from email.utils import formataddr
from smtplib import SMTPException, SMTPRecipientsRefused, SMTPResponseException

from django.conf import settings
from django.core.mail import EmailMessage, get_connection
from django.core.mail.backends.base import BaseEmailBackend

from rotas.channels.console import Console
from rotas.channels.json_gateway import SCHEMES, JsonGateway
from rotas.channels.outcome import Letter, Line, Taken, Trouble
from rotas.channels.services import Service
from rotas.models import Channel, Practice

COPY_LINE = "(This may be a second copy: our first try was cut off. If you have it already, ignore this one.)"
CONSOLE = "console:"


def gateway_address(practice: Practice, channel: str) -> str:
    """Return the address of the practice's gateway for a channel, blank where none is set up. A secret."""
    name = f"{channel.upper()}_GATEWAY"
    own = f"{name}_{re.sub('[^A-Z0-9]', '_', practice.slug.upper())}"
    addresses: dict[str, str] = settings.SECRET_GATEWAYS
    return addresses.get(own) or addresses.get(name, "")


def usable(practice: Practice) -> frozenset[str]:
    """Return the channels for which the practice has a line."""
    by_gateway = (Channel.TEXT, Channel.PUSH)
    return frozenset(
        {str(Channel.EMAIL), *(str(each) for each in by_gateway if gateway_address(practice, each))}
    )


class Lines:
    """Every line of one run, opened when first used, each used for many messages.

    `down` are the lines that could not be reached: the run leaves their other messages alone.
    """

    def __init__(self, mail: BaseEmailBackend | None = None) -> None:
        self._mail = MailLine(mail or get_connection())
        self._gateways: dict[str, Line] = {}
        self._practices: dict[int, Practice] = {}
        self.down: set[tuple[int | None, str]] = set()

    def practice(self, pk: int) -> Practice:
        """Return a practice as it stood when the run first met it."""
        if pk not in self._practices:
            self._practices[pk] = Practice.objects.get(pk=pk)
        return self._practices[pk]

    def hand_over(self, practice: Practice, channel: str, letter: Letter) -> Taken | Trouble:
        """Give the letter to the practice's line for the channel."""
        line = self._line(practice, channel)
        if line is None:
            kind = Channel(channel).label
            return Trouble(f"No gateway is set up for a {kind}. Tell them by telephone.", final=True)
        answer = line.hand_over(letter)
        if isinstance(answer, Trouble) and answer.line_down:
            self.down.add((None if channel == Channel.EMAIL else practice.pk, channel))
        return answer

    def _line(self, practice: Practice, channel: str) -> Line | None:
        if channel == Channel.EMAIL:
            return self._mail
        address = gateway_address(practice, channel)
        if address and address not in self._gateways:
            self._gateways[address] = line_to(address)
        return self._gateways.get(address)

    def close(self) -> None:
        """End every line."""
        for line in (self._mail, *self._gateways.values()):
            line.close()


def line_to(address: str) -> Line:
    """Return the line that the form of the address asks for: print, our JSON gateway, or Apprise."""
    if address == CONSOLE:
        return Console()
    if address.partition(":")[0] in SCHEMES:
        return JsonGateway(address, settings.GATEWAY_TIMEOUT)
    return Service(address, settings.GATEWAY_TIMEOUT)


class MailLine:
    """A mail server, its connection left open from one mail to the next.

    It is opened first, so that nothing but the server's answer lies between the mail and our commit.
    """

    def __init__(self, connection: BaseEmailBackend) -> None:
        self._connection = connection

    def hand_over(self, letter: Letter) -> Taken | Trouble:
        """Give the mail to the server."""
        try:
            self._connection.open()
        except (OSError, SMTPException) as error:
            return Trouble(_named(error), line_down=True)
        try:
            self._connection.send_messages([mail_of(letter)])
        except (OSError, SMTPException) as error:
            self._connection.close()
            return Trouble(
                _named(error),
                final=_is_final(error),
                perhaps_taken=not _is_refusal(error),
                line_down=isinstance(error, TimeoutError),
            )
        except ValueError as error:  # an address or header that no mail can carry
            return Trouble(_named(error), final=True)
        return Taken()

    def close(self) -> None:
        """End the connection."""
        self._connection.close()


def _named(error: Exception) -> str:
    return f"{type(error).__name__}: {error}"[:1000]


def _is_refusal(error: Exception) -> bool:
    """Say whether the server answered and said no, so that the mail has surely not gone."""
    return isinstance(error, SMTPResponseException | SMTPRecipientsRefused)


def _is_final(error: Exception) -> bool:
    """Say whether the server rules out every further try for this receiver."""
    return isinstance(error, SMTPRecipientsRefused) and all(
        code >= 500 for code, _ in error.recipients.values()
    )


def mail_of(letter: Letter) -> EmailMessage:
    """Return the mail of a letter, its key as the Message-ID."""
    name = " ".join(letter.name.split())
    lines = [COPY_LINE, "", letter.body] if letter.may_be_copy else [letter.body]
    return EmailMessage(
        subject=letter.subject,
        body="\n".join(lines),
        to=[formataddr((name, letter.address)) if name else letter.address],
        reply_to=[letter.reply_to] if letter.reply_to else None,
        headers={"Message-ID": letter.key, "Auto-Submitted": "auto-generated"},
    )
