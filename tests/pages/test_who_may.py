"""Every address for everybody: strangers sign in, wrong roles are told, rows of others are not there."""

import re

import pytest
from django.test import Client

from dispatch.pages.urls import urlpatterns
from rotas.models import Role
from tests.pages.forms import alerts_of
from tests.pages.site import ALL, Evening, at, rows

OPEN_TO_ALL = {
    "/fine/<str:token>/",
    "/told/<str:token>/",
    "/sign-in/",
    "/sign-out/",
    "/sign-in/standing/",
    "/stream/",
    "/calendar/<str:secret>.ics",
}
PART = {"HX-Request": "true"}


def reads(evening: Evening) -> dict[str, tuple[str, ...]]:
    return evening.pages | evening.parts


def pattern_of(address: str) -> str:
    """Return the address as the list of addresses has it: numbers and names of steps left open."""
    path = address.split("?")[0]
    step = re.fullmatch(r"/calls/\d+/(?!live/|offer/|picked/)[a-z-]+/", path)
    return "/calls/<int>/<slug>/" if step else re.sub(r"\d+", "<int>", path)


def test_no_address_is_forgotten_here(evening: Evening) -> None:
    known = {pattern_of(address) for address in (*reads(evening), *evening.writes)} | OPEN_TO_ALL
    listed = {re.sub(r"<(int|slug):\w+>", r"<\1>", f"/{each.pattern}") for each in urlpatterns}
    assert listed == known


def test_a_stranger_is_led_to_the_sign_in_and_back(evening: Evening) -> None:
    for address in evening.pages:
        answer = at(None).get(address)
        assert (answer.status_code, answer.url.split("?")[0]) == (302, "/sign-in/"), address
        assert at(None).get(answer.url).status_code == 200


def test_a_part_of_a_page_never_shows_the_sign_in_inside_of_itself(evening: Evening) -> None:
    for address in evening.parts:
        answer = at(None).get(address, headers=PART)
        assert answer.status_code == 401, address
        assert "Sign in again" in answer.content.decode()


def test_a_stranger_writes_nothing(evening: Evening) -> None:
    before = rows()
    for address in evening.writes:
        answer = at(None).post(address, {"reason": "because"})
        assert answer.status_code == 401, address
        assert "You are signed out, and nothing was written." in answer.content.decode()
    assert rows() == before


@pytest.mark.parametrize("role", ALL)
def test_each_role_opens_its_own_rooms_and_is_told_about_the_others(evening: Evening, role: str) -> None:
    browser = at(evening.member(role))
    for address, roles in reads(evening).items():
        answer = browser.get(address)
        if role in roles:
            assert answer.status_code in (200, 302), (address, answer.status_code)
        else:
            assert answer.status_code == 403, address
            assert "needs the role" in answer.content.decode()


@pytest.mark.parametrize("role", ALL)
def test_each_role_is_refused_the_forms_of_the_others(evening: Evening, role: str) -> None:
    browser, before = at(evening.member(role)), rows()
    for address, roles in evening.writes.items():
        if role not in roles:
            answer = browser.post(address, {"reason": "because", "vet": evening.world.vet.pk})
            assert answer.status_code == 403, (address, answer.status_code)
            assert "needs the role" in answer.content.decode()
    assert rows() == before


def with_digits(address: str) -> bool:
    return any(step.isdigit() for step in address.split("?")[0].split("/"))


@pytest.mark.parametrize("role", ALL)
def test_another_practices_rows_are_not_there(evening: Evening, theirs: Evening, role: str) -> None:
    browser, before = at(evening.member(role)), rows()
    for address, roles in (theirs.pages | theirs.parts).items():
        if with_digits(address) and role in roles:
            answer = browser.get(address)
            assert answer.status_code == 404, address
            assert alerts_of(answer.content.decode()), address
    for address, roles in theirs.writes.items():
        if with_digits(address) and role in roles:
            answer = browser.post(address, {"reason": "too_tired", "vet": theirs.world.vet.pk})
            assert answer.status_code == 404, (address, answer.status_code)
            assert theirs.world.practice.name not in answer.content.decode()
    assert rows() == before


@pytest.mark.parametrize("key", ["0", "9" * 18, "9" * 40, "9" * 5000, "-1", "1e3", "٣", "x"])
def test_a_number_that_is_nobodys_is_not_there(evening: Evening, key: str) -> None:
    browser = at(evening.member(Role.MANAGER))
    for address in reads(evening):
        if with_digits(address) and "?" not in address:
            other = "/".join(key if step.isdigit() else step for step in address.split("/"))
            assert browser.get(other).status_code == 404, other[:60]


def test_every_answer_carries_the_strict_policy(evening: Evening) -> None:
    for role in ALL:
        for address, roles in reads(evening).items():
            if role in roles:
                policy = at(evening.member(role)).get(address).headers["Content-Security-Policy"]
                assert "default-src 'self'" in policy
                assert "unsafe" not in policy
                assert "frame-ancestors 'none'" in policy


def test_a_link_cannot_write(evening: Evening) -> None:
    before = rows()
    for role in ALL:
        both = {each.split("?")[0] for each in evening.pages}  # read and written at once
        for address in evening.writes.keys() - both:
            assert at(evening.member(role)).get(address).status_code in (403, 405), address
    assert rows() == before


def test_a_form_from_another_site_is_refused(evening: Evening) -> None:
    browser = Client(enforce_csrf_checks=True)
    browser.force_login(evening.member(Role.MANAGER))
    before = rows()
    for address in evening.writes:
        answer = browser.post(address, {"reason": "because"})
        assert answer.status_code == 403
        assert "Load the page again" in answer.content.decode()
    assert rows() == before


def test_a_vet_comes_to_their_own_page(evening: Evening) -> None:
    assert at(evening.member(Role.VET)).get("/").url == "/mine/"
