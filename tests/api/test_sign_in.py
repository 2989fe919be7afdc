"""Signing in, its limits, and what a token opens."""

from datetime import timedelta
from typing import Any

import pytest
import time_machine
from django.utils import timezone
from knox.models import AuthToken

from rotas.models import Practice, Vet
from tests.api.conftest import API, Caller, assert_problem
from tests.factories import PASSWORD, a_member, reception
from tests.running.broker import forget_keys


def sign_in(caller: Caller, username: str, password: str = PASSWORD) -> Any:
    return caller.client.post(API + "sign-in", {"username": username, "password": password}, format="json")


def test_sign_in_gives_a_token_that_opens_me(nobody: Caller, vet: Vet) -> None:
    answer = sign_in(nobody, vet.member.username)
    assert answer.status_code == 200
    assert answer.json()["member"] == {
        "id": vet.member.pk,
        "username": vet.member.username,
        "name": "Vet of ours",
        "roles": ["vet"],
        "vet": vet.pk,
        "practice": "Ours",
        "time_zone": "Europe/London",
    }
    nobody.client.credentials(HTTP_AUTHORIZATION=f"Token {answer.json()['token']}")
    assert nobody.get("me").json() == answer.json()["member"]


def test_only_the_digest_of_a_token_is_kept(nobody: Caller, vet: Vet) -> None:
    token = sign_in(nobody, vet.member.username).json()["token"]
    row = AuthToken.objects.get(user=vet.member)
    assert token not in (row.digest, row.token_key)
    assert len(row.token_key) < len(token)


def test_token_ends_with_its_time(nobody: Caller, vet: Vet) -> None:
    answer = sign_in(nobody, vet.member.username).json()
    nobody.client.credentials(HTTP_AUTHORIZATION=f"Token {answer['token']}")
    row = AuthToken.objects.get(user=vet.member)
    assert answer["expires_at"] == row.expiry.isoformat().replace("+00:00", "Z")
    with time_machine.travel(row.expiry - timedelta(seconds=1), tick=False):
        assert nobody.get("me").status_code == 200
    with time_machine.travel(row.expiry + timedelta(seconds=1), tick=False):
        assert_problem(nobody.get("me"), 401, "token_not_valid")


@pytest.mark.parametrize("password", ["wrong", " " + PASSWORD, PASSWORD.upper()])
def test_wrong_password_is_401_and_makes_no_token(nobody: Caller, vet: Vet, password: str) -> None:
    assert_problem(sign_in(nobody, vet.member.username, password), 401, "wrong_password")
    assert not AuthToken.objects.exists()


def test_unknown_name_is_answered_like_a_wrong_password(nobody: Caller, vet: Vet) -> None:
    wrong = sign_in(nobody, vet.member.username, "wrong").json()
    assert sign_in(nobody, "nobody-of-that-name").json() == wrong


def test_left_member_cannot_sign_in_nor_use_an_old_token(nobody: Caller, on_call: Caller, vet: Vet) -> None:
    vet.member.is_active = False
    vet.member.save()
    assert_problem(sign_in(nobody, vet.member.username), 401, "wrong_password")
    assert_problem(on_call.get("me"), 401, "token_not_valid")


def test_eight_wrong_passwords_lock_the_name_and_not_the_house(
    nobody: Caller, practice: Practice, vet: Vet
) -> None:
    answers = [sign_in(nobody, vet.member.username, "wrong") for _ in range(8)]
    assert [answer.status_code for answer in answers] == [401] * 7 + [429]
    locked = sign_in(nobody, vet.member.username)
    assert_problem(locked, 429, "too_many_attempts")
    assert locked["Retry-After"] == "900"
    assert sign_in(nobody, reception(practice).username).status_code == 200


def test_attempts_from_one_address_are_counted_whatever_it_claims(nobody: Caller, practice: Practice) -> None:
    names = [a_member(practice).username for _ in range(21)]
    with time_machine.travel(timezone.now(), tick=False):  # all of it in one of the throttle's minutes
        answers = [
            nobody.client.post(
                API + "sign-in",
                {"username": name, "password": "wrong"},
                format="json",
                headers={"X-Forwarded-For": f"203.0.113.{number}"},
            )
            for number, name in enumerate(names)
        ]
    assert [answer.status_code for answer in answers[:20]] == [401] * 20
    assert_problem(answers[20], 429, "too_many_attempts")
    assert int(answers[20]["Retry-After"]) >= 1


def test_the_twenty_first_token_ends_the_first(nobody: Caller, vet: Vet) -> None:
    first = Caller(vet.member)
    with time_machine.travel(timezone.now() + timedelta(minutes=1)):
        for _ in range(19):
            AuthToken.objects.create(vet.member)
        assert first.get("me").status_code == 200
        forget_keys()
        assert sign_in(nobody, vet.member.username).status_code == 200
        assert_problem(first.get("me"), 401, "token_not_valid")
    assert AuthToken.objects.filter(user=vet.member).count() == 20


def test_sign_out_ends_this_token_only(on_call: Caller, vet: Vet) -> None:
    telephone = Caller(vet.member)
    assert on_call.post("sign-out").status_code == 204
    assert_problem(on_call.get("me"), 401, "token_not_valid")
    assert telephone.get("me").status_code == 200


@pytest.mark.parametrize(
    "header",
    ["Token", "Token a b", "Token abc", "Token \x00\x00", "Token " + "z" * 5000, "Token é", "Bearer abc", ""],
)
def test_no_such_token_is_401_that_names_the_scheme(nobody: Caller, header: str) -> None:
    nobody.client.credentials(HTTP_AUTHORIZATION=header)
    answer = nobody.get("me")
    assert answer.status_code == 401
    assert answer["WWW-Authenticate"] == "Token"
    assert answer.json()["code"] in {"token_not_valid", "not_signed_in"}


def test_session_opens_reads_and_needs_the_csrf_token_to_write(vet: Vet) -> None:
    caller = Caller()
    caller.client.handler.enforce_csrf_checks = True
    caller.client.force_login(vet.member)
    assert caller.get("me").status_code == 200
    assert_problem(caller.post("me/report", {"state": "tired"}), 403, "csrf_failed")
    vet.refresh_from_db()
    assert vet.self_report == "ok"


def test_without_the_cache_the_desk_can_still_sign_in(nobody: Caller, vet: Vet, settings: Any) -> None:
    settings.CACHES = {
        "default": {
            "BACKEND": "django.core.cache.backends.redis.RedisCache",
            "LOCATION": "redis://127.0.0.1:1/0",  # nothing listens there
        }
    }
    assert sign_in(nobody, vet.member.username).status_code == 200
