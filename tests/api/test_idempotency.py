"""A write that is sent twice happens once, and a refused one may be tried again."""

import threading
from datetime import timedelta
from typing import Any

import pytest
import time_machine
from django.db import connection, transaction
from django.utils import timezone

from rotas.idempotency import Answer, answer_once, fingerprint, purge_answers, read_key
from rotas.models import AuditLine, GivenAnswer, Practice, Shift, Vet
from rotas.tasks import forget_answers
from tests.api.conftest import Caller, assert_problem
from tests.factories import a_manager, a_practice, a_vet

KEY = "0a1b2c3d-a-key-of-its-own"


def a_duty(vet: Vet, hours: int = 12) -> dict[str, Any]:
    start = timezone.now().replace(microsecond=0) + timedelta(days=1)
    return {
        "vet": vet.pk,
        "role": "first",
        "start": start.isoformat(),
        "end": (start + timedelta(hours=hours)).isoformat(),
    }


@pytest.mark.parametrize(
    "key", [None, "short", "x" * 81, "with a space", "não-ascii-key", '"seven77"', "tab\tin-key"]
)
def test_write_without_a_usable_key_is_refused(in_charge: Caller, vet: Vet, key: str | None) -> None:
    refused = in_charge.post("shifts", a_duty(vet), key=key)
    assert_problem(refused, 400, "idempotency_key_missing")
    assert not Shift.objects.exists()


@pytest.mark.parametrize("key", ["x" * 8, "x" * 80, KEY, f'"{KEY}"'])
def test_key_of_eight_to_eighty_characters_is_taken(in_charge: Caller, vet: Vet, key: str) -> None:
    assert in_charge.post("shifts", a_duty(vet), key=key).status_code == 201


def test_quoted_key_is_the_same_key() -> None:
    assert read_key(f'"{KEY}"') == read_key(KEY) == KEY


def test_same_request_with_the_same_key_is_replayed(in_charge: Caller, vet: Vet) -> None:
    body = a_duty(vet)
    first = in_charge.post("shifts", body, key=KEY)
    assert "Idempotency-Replayed" not in first
    again = in_charge.post("shifts", dict(reversed(body.items())), key=KEY)
    assert (again.status_code, again.json()) == (201, first.json())
    assert again["Idempotency-Replayed"] == "true"
    assert Shift.objects.count() == 1
    assert AuditLine.objects.filter(verb="shift_added").count() == 1


def test_key_with_another_request_is_refused_and_changes_nothing(
    in_charge: Caller, practice: Practice, vet: Vet
) -> None:
    in_charge.post("shifts", a_duty(vet), key=KEY)
    other = in_charge.post("shifts", a_duty(a_vet(practice)), key=KEY)
    assert_problem(other, 422, "idempotency_key_reused")
    assert_problem(in_charge.post("shifts/1/end", {}, key=KEY), 422, "idempotency_key_reused")
    assert Shift.objects.count() == 1


def test_refused_write_leaves_no_trace_and_its_key_may_be_used_again(in_charge: Caller, vet: Vet) -> None:
    wrong = a_duty(vet, hours=-1)
    assert in_charge.post("shifts", wrong, key=KEY).status_code == 400
    assert not GivenAnswer.objects.exists()
    assert in_charge.post("shifts", a_duty(vet), key=KEY).status_code == 201


def test_two_members_may_make_the_same_key(in_charge: Caller, vet: Vet) -> None:
    other = a_practice()
    their_manager, their_vet = Caller(a_manager(other)), a_vet(other)
    assert in_charge.post("shifts", a_duty(vet), key=KEY).status_code == 201
    answer = their_manager.post("shifts", a_duty(their_vet), key=KEY)
    assert answer.status_code == 201
    assert "Idempotency-Replayed" not in answer
    assert Shift.objects.count() == 2


@pytest.mark.django_db(transaction=True)
def test_ten_duplicates_at_the_same_instant_are_one_write() -> None:
    practice = a_practice()
    caller, vet = Caller(a_manager(practice)), a_vet(practice)
    body, together = a_duty(vet), threading.Barrier(10)
    answers: list[Any] = []

    def send() -> None:
        together.wait()
        try:
            answers.append(caller.post("shifts", body, key=KEY))
        finally:
            connection.close()

    threads = [threading.Thread(target=send) for _ in range(10)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [answer.status_code for answer in answers] == [201] * 10
    assert len({answer.json()["id"] for answer in answers}) == 1
    assert sum("Idempotency-Replayed" in answer for answer in answers) == 9
    assert Shift.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_waiting_longer_than_the_lock_limit_is_a_409_and_not_a_500() -> None:
    practice = a_practice()
    caller, vet = Caller(a_manager(practice)), a_vet(practice)
    locked, done = threading.Event(), threading.Event()

    def hold() -> None:
        with transaction.atomic():
            Vet.objects.select_for_update().get(pk=vet.pk)
            locked.set()
            done.wait()
        connection.close()

    holder = threading.Thread(target=hold)
    holder.start()
    locked.wait()
    with connection.cursor() as cursor:
        cursor.execute("SET lock_timeout = '100ms'")
    try:
        busy = caller.post("shifts", a_duty(vet), key=KEY)
    finally:
        done.set()
        holder.join()
    with connection.cursor() as cursor:
        cursor.execute("RESET lock_timeout")
    assert_problem(busy, 409, "busy")
    assert busy["Retry-After"] == "1"
    assert not GivenAnswer.objects.exists()


def test_answers_are_forgotten_after_a_week_and_not_before(in_charge: Caller, vet: Vet) -> None:
    in_charge.post("shifts", a_duty(vet), key=KEY)
    made_at = GivenAnswer.objects.get().made_at
    assert purge_answers(now=made_at + timedelta(days=7)) == 0
    assert purge_answers(now=made_at + timedelta(days=7, seconds=1)) == 1
    assert not GivenAnswer.objects.exists()


def test_clock_forgets_old_answers(in_charge: Caller, vet: Vet) -> None:
    in_charge.post("shifts", a_duty(vet), key=KEY)
    GivenAnswer.objects.update(made_at=timezone.now() - timedelta(days=8))
    assert forget_answers() == 1


def test_what_was_done_is_undone_with_its_trace(vet: Vet) -> None:
    def fail() -> Answer:
        Vet.objects.filter(pk=vet.pk).update(code="GONE")
        raise RuntimeError("broken off")

    with pytest.raises(RuntimeError):
        answer_once(member=vet.member, key=KEY, request_hash="h", now=timezone.now(), make=fail)
    vet.refresh_from_db()
    assert vet.code != "GONE"
    assert not GivenAnswer.objects.exists()


def test_fingerprint_minds_everything_that_is_asked_but_not_its_order() -> None:
    one = fingerprint("POST", "/a", {"x": 1, "y": [1, 2]})
    assert one == fingerprint("POST", "/a", {"y": [1, 2], "x": 1})
    others = [("PUT", "/a", {"x": 1, "y": [1, 2]}), ("POST", "/b", {"x": 1, "y": [1, 2]})]
    others += [("POST", "/a", {"x": 1, "y": [2, 1]}), ("POST", "/a", {"x": "1", "y": [1, 2]})]
    assert one not in {fingerprint(*other) for other in others}


def test_replay_needs_no_later_clock(in_charge: Caller, vet: Vet) -> None:
    body = a_duty(vet)
    first = in_charge.post("shifts", body, key=KEY)
    with time_machine.travel(timezone.now() + timedelta(days=3)):
        assert in_charge.post("shifts", body, key=KEY).json() == first.json()
