"""The drill's mail sink, and how it finds out who is sending."""

import os
import smtplib
import socket
import subprocess
import sys
from contextlib import closing

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from dispatch.drill.sender import holder
from dispatch.drill.sink import Sink

MAIL = "From: a@example\r\nMessage-ID: <one@drill>\r\nSubject: x\r\n\r\nMessage-ID: <not this>\r\n"


def send(port: int) -> None:
    with smtplib.SMTP("127.0.0.1", port) as line:
        line.sendmail("a@drill.invalid", ["b@drill.invalid"], MAIL)


def test_it_counts_by_message_id_before_the_sender_hears_of_it() -> None:
    heard: list[tuple[int, int]] = []
    with Sink(lambda number, port: heard.append((number, port))) as sink:
        port = int(sink.url.rpartition(":")[2])
        send(port)
        send(port)
    assert sink.arrived == {"<one@drill>": 2}
    assert [number for number, _ in heard] == [1, 2]


def test_it_refuses_for_now_and_counts_that_apart() -> None:
    with Sink(lambda number, port: None) as sink:
        port = int(sink.url.rpartition(":")[2])
        sink.refusing = True
        with pytest.raises(smtplib.SMTPDataError) as refused:
            send(port)
        assert refused.value.smtp_code == 451
        sink.refusing = False
        send(port)
    assert (sink.refused, sum(sink.arrived.values())) == (1, 1)


@pytest.mark.skipif(sys.platform != "linux", reason="reads /proc")
def test_the_other_end_of_a_connection_is_found_among_sessions() -> None:
    with closing(socket.create_server(("127.0.0.1", 0))) as server:
        number = server.getsockname()[1]
        program = f"import socket; s = socket.create_connection(('127.0.0.1', {number})); s.recv(1)"
        child = subprocess.Popen([sys.executable, "-c", program], start_new_session=True)
        line, (_, port) = server.accept()
        with closing(line):
            assert holder(port, [os.getsid(0), child.pid]) == child.pid
            assert holder(port, [os.getsid(0)]) is None
    child.wait(30)
    assert holder(port, [child.pid]) is None


@pytest.mark.parametrize(
    ("option", "words"),
    [("--reminders=0", "from 1"), ("--kills=-1", "negative"), ("--reminders=9", "at least")],
)
def test_what_cannot_be_drilled_is_refused_in_words(option: str, words: str) -> None:
    with pytest.raises(CommandError, match=words):
        call_command("drill_reminders", option)
