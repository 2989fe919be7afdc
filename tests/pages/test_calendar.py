"""The address as a calendar program meets it: no sign-in, no trace of what it is not for."""

import re

import pytest
from icalendar import Calendar

from rotas.models import GivenAnswer, Role
from rotas.pages.calendar import ReadingThrottle
from tests.pages.forms import forms_of
from tests.pages.site import ALL, Evening, at

ADDRESS = re.compile(r'value="http://testserver(/calendar/[\w-]{43}\.ics)"')


def made(evening: Evening, role: str = Role.VET, whose: str = "everyone") -> str:
    page = at(evening.member(role)).post("/rota/calendar/", {"whose": whose, "used_for": "wall", "key": "k"})
    assert page.status_code == 200
    assert "no-store" in page.headers["Cache-Control"]
    return ADDRESS.search(page.content.decode())[1]


@pytest.mark.parametrize("role", ALL)
def test_every_role_makes_an_address_that_needs_no_sign_in(evening: Evening, role: str) -> None:
    answer = at(None).get(made(evening, role))
    assert (answer.status_code, answer.headers["Content-Type"]) == (200, "text/calendar; charset=utf-8")
    names = {str(event["SUMMARY"]) for event in Calendar.from_ical(answer.content).walk("VEVENT")}
    assert f"First on call: {evening.world.vet.name}" in names


def test_it_tells_nothing_of_farms_clients_calls_or_telephones(evening: Evening) -> None:
    world = evening.world
    body = at(None).get(made(evening)).content.decode()
    for word in (world.farm.name, world.client.name, world.vet.member.username, "+44", "calving", "@"):
        assert word not in body, word


def test_a_program_that_has_it_already_is_told_so(evening: Evening) -> None:
    address, browser = made(evening), at(None)
    first = browser.get(address)
    assert "private" in first.headers["Cache-Control"]
    assert "Set-Cookie" not in first.headers
    again = browser.get(address, headers={"If-None-Match": first.headers["ETag"]})
    assert (again.status_code, again.content) == (304, b"")
    assert again.headers["ETag"] == first.headers["ETag"]
    head = browser.head(address)
    assert (head.status_code, head.headers["ETag"]) == (200, first.headers["ETag"])
    evening.world.vet.shifts.in_order()[0].delete()
    changed = browser.get(address, headers={"If-None-Match": first.headers["ETag"]})
    assert changed.status_code == 200


def test_unknown_and_revoked_addresses_are_the_same_nothing(evening: Evening) -> None:
    address, browser = made(evening), at(evening.member(Role.VET))
    page = browser.get("/rota/calendar/").content.decode()
    assert address not in page  # shown once
    revoke = next(form for form in forms_of(page) if form.action.endswith("/revoke/"))
    assert browser.post(revoke.action, revoke.filled()).status_code == 302
    revoked = at(None).get(address)
    unknown = at(None).get("/calendar/" + "x" * 43 + ".ics")
    assert revoked.status_code == unknown.status_code == 404
    assert revoked.content == unknown.content
    assert "private" in revoked.headers["Cache-Control"]


def test_the_form_sent_twice_makes_one_address_and_keeps_no_secret(evening: Evening) -> None:
    browser, form = at(evening.member(Role.VET)), {"whose": "everyone", "used_for": "", "key": "the same"}
    first = browser.post("/rota/calendar/", form).content.decode()
    secret = ADDRESS.search(first)[1].removeprefix("/calendar/").removesuffix(".ics")
    second = browser.post("/rota/calendar/", form).content.decode()
    assert "This form was sent before" in second
    assert ADDRESS.search(second) is None
    kept = list(GivenAnswer.objects.filter(member=evening.member(Role.VET)).values_list("body", flat=True))
    assert kept
    assert secret not in str(kept)


def test_nothing_can_be_written_to_an_address(evening: Evening) -> None:
    address = made(evening)
    for method in ("post", "put", "delete", "patch"):
        assert getattr(at(None), method)(address).status_code == 405


def test_too_many_readings_from_one_place_have_to_wait(
    evening: Evening, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(ReadingThrottle, "rate", "2/min", raising=False)
    address, browser = made(evening), at(None)
    assert [browser.get(address, REMOTE_ADDR="192.0.2.1").status_code for _ in range(3)] == [200, 200, 429]
    refused = browser.get(address, REMOTE_ADDR="192.0.2.1")
    assert 0 < int(refused.headers["Retry-After"]) <= 60
    assert browser.get(address, REMOTE_ADDR="192.0.2.2").status_code == 200
