"""Which way a message goes, how long it waits, and who signed what: the pure rules."""

from datetime import UTC, datetime, time, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rotas.channels.back_off import PAUSES_MIN, SPREAD, pause_after
from rotas.channels.choice import Choice, Way, choose
from rotas.channels.outcome import Letter
from rotas.channels.services import addressed
from rotas.channels.signing import is_fresh, is_signed, key_of, secret_of, signature

DAY = datetime(2026, 3, 14, tzinfo=UTC)
NOW = DAY.replace(hour=12)
MAIL = Way("email", "v@x.example", time(6), time(20), order=1)
NIGHT = Way("text", "+441632960001", time(20), time(6), order=2)
BOTH = frozenset({"email", "text"})


@pytest.mark.parametrize(
    ("clock", "way"),
    [
        (time(5, 59), NIGHT),
        (time(6), MAIL),
        (time(19, 59), MAIL),
        (time(20), NIGHT),
        (time(0), NIGHT),
    ],
)
def test_the_clock_chooses_the_way_and_each_hour_belongs_to_one(clock, way):
    assert choose([NIGHT, MAIL], datetime.combine(DAY, clock), BOTH) == Choice(way)


def test_the_lower_order_goes_first_where_two_ways_are_open():
    first = Way("text", "+441632960002", order=0)
    assert choose([MAIL, first], NOW, BOTH).way == first


def test_a_way_without_a_line_is_no_way():
    assert choose([NIGHT], NOW.replace(hour=21), frozenset({"email"})) is None
    assert choose([], NOW, BOTH) is None


def test_what_can_wait_waits_for_the_next_way_and_what_is_urgent_does_not():
    late = NOW.replace(hour=22)
    assert choose([MAIL], late, BOTH) == Choice(MAIL, time(6))
    assert choose([MAIL], late, BOTH, urgent=True) == Choice(MAIL)


@pytest.mark.parametrize("tries", range(1, len(PAUSES_MIN) + 1))
def test_pauses_grow_spread_and_repeat(tries):
    pauses = [pause_after(tries, seed=f"m{number}") for number in range(200)]
    base = timedelta(minutes=PAUSES_MIN[tries - 1])
    assert all(base * (1 - SPREAD) <= pause <= base * (1 + SPREAD) for pause in pauses)
    assert len(set(pauses)) > 190
    assert pause_after(tries, seed="m7") == pauses[7]


def test_the_last_try_has_no_pause_and_a_gateway_may_ask_for_a_longer_one_only():
    assert pause_after(len(PAUSES_MIN) + 1, seed="m") is None
    assert pause_after(1, seed="m", asked=timedelta(hours=1)) == timedelta(hours=1)
    assert pause_after(1, seed="m", asked=timedelta(seconds=1)) == pause_after(1, seed="m")
    assert pause_after(1, seed="m", asked=timedelta(days=30)) == timedelta(hours=6)


def test_the_signature_is_that_of_the_open_form():
    """The example of the Standard Webhooks specification, from memory; checked against openssl."""
    key = key_of("whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw")
    body = b'{"test": 2432232314}'
    signed = signature(key, event="msg_p5jXN8AQM9LWM0D4loKWxJek", timestamp="1614265330", body=body)
    assert signed == "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="


def test_a_secret_survives_being_written_down():
    assert key_of(secret_of(b"\x00\xff secret")) == b"\x00\xff secret"
    with pytest.raises(ValueError, match="base64"):
        key_of("whsec_not base64!")


def signed(given, keys=(b"new", b"old"), event="e1", timestamp="1", body=b"{}"):
    return is_signed(keys, event=event, timestamp=timestamp, body=body, given=given)


def test_either_of_two_secrets_signs_and_a_sender_may_send_both_signatures():
    by_old = signature(b"old", event="e1", timestamp="1", body=b"{}")
    by_other = signature(b"other", event="e1", timestamp="1", body=b"{}")
    assert signed(by_old)
    assert signed(f"{by_other} {by_old}")
    assert not signed(by_other)


@pytest.mark.parametrize("changed", [{"event": "e2"}, {"timestamp": "2"}, {"body": b"{ }"}])
def test_a_signature_holds_for_nothing_else(changed):
    assert not signed(signature(b"new", event="e1", timestamp="1", body=b"{}"), **changed)


@given(st.text(max_size=80))
def test_no_made_up_signature_holds_and_none_breaks_it(text):
    assert not signed(text)


@pytest.mark.parametrize(
    ("apart", "fresh"), [(300, True), (301, False), (-300, True), (-301, False), (0, True)]
)
def test_the_window_is_five_minutes_to_either_side(apart, fresh):
    assert is_fresh(str(int(NOW.timestamp()) - apart), NOW) == fresh


@pytest.mark.parametrize("timestamp", ["", "now", "-1", "1e9", "\uff11\uff16", "9" * 40, "1.5", " 1"])
def test_what_is_no_timestamp_is_not_fresh(timestamp):
    assert not is_fresh(timestamp, NOW)


def test_a_service_s_address_takes_receiver_and_key_and_nothing_of_theirs_changes_it():
    letter = Letter(key="<a@b>", address="+44 1/x?y", subject="", body="", text="")
    assert addressed("json://host/{to}?+Idempotency-Key={key}", letter) == (
        "json://host/+44%201%2Fx%3Fy?+Idempotency-Key=%3Ca%40b%3E"
    )
