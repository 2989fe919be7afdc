"""Signing in: back to where one was going, never to another site, and in words when it does not work."""

import pytest

from tests.factories import PASSWORD
from tests.pages.forms import alerts_of
from tests.pages.site import Evening, at


def sign_in(username: str, password: str, going: str = ""):
    return at(None).post("/sign-in/", {"username": username, "password": password, "next": going})


@pytest.fixture
def name(evening: Evening) -> str:
    return evening.world.desk.username


def test_one_goes_on_to_where_one_was_going(name: str) -> None:
    assert sign_in(name, PASSWORD, "/book/?day=2026-03-15").url == "/book/?day=2026-03-15"
    assert sign_in(name, PASSWORD).url == "/"


@pytest.mark.parametrize(
    "going",
    ["https://elsewhere.example/", "//elsewhere.example", "javascript:alert(1)", "\\\\elsewhere", "\x00"],
)
def test_nobody_is_led_to_another_site(name: str, going: str) -> None:
    assert sign_in(name, PASSWORD, going).url == "/"


@pytest.mark.parametrize(
    ("username", "password"),
    [
        ("", ""),
        ("nobody", "wrong"),
        ("a\x00b", "c"),
        ("x" * 5000, "y" * 5000),
        ("🐄", "<script>"),
        ("'--", "\x00"),
    ],
)
def test_what_does_not_fit_is_said_and_nothing_is_let_in(
    evening: Evening, username: str, password: str
) -> None:
    answer = sign_in(username, password)
    assert answer.status_code == 200
    assert "_auth_user_id" not in answer.client.session
    html = answer.content.decode()
    assert "<script>alert" not in html
    assert alerts_of(html) == ["The name and the password do not fit together. Check both; capitals count."]


def test_too_many_wrong_passwords_lock_the_name_for_a_while(name: str) -> None:
    answers = [sign_in(name, "wrong") for _ in range(12)]
    assert answers[-1].status_code == 429
    assert "Wait 15 minutes" in answers[-1].content.decode()
    assert sign_in(name, PASSWORD).status_code == 429


def test_who_is_signed_in_is_told_to_our_own_pages_only(evening: Evening) -> None:
    assert at(None).get("/sign-in/standing/").json() == {"member": None, "token": ""}
    answer = at(evening.world.desk).get("/sign-in/standing/")
    assert answer.json()["member"] == evening.world.desk.pk
    assert len(answer.json()["token"]) == 64
    assert "no-store" in answer.headers["Cache-Control"]
    assert "Access-Control-Allow-Origin" not in answer.headers


def test_signing_out_takes_a_form(evening: Evening) -> None:
    browser = at(evening.world.desk)
    assert browser.get("/sign-out/").status_code == 405
    assert browser.post("/sign-out/").status_code == 302
    assert browser.get("/book/").status_code == 302
