"""What the vet's phone sends for itself: presses that were kept, answered in JSON, with their own time."""

from datetime import datetime, timedelta
from typing import Any

import pytest
import time_machine
from django.test import Client

from cases.models import Visit
from cases.services.visits import report_progress
from rotas.models import AuditLine
from tests.factories import NOW
from tests.pages.forms import forms_of
from tests.pages.site import Evening, at, rows

JSON = {"Accept": "application/json"}
NIGHT = NOW + timedelta(hours=3)


def press(browser: Client, address: str, **fields: Any) -> Any:
    return browser.post(address, {"key": "a key of its own"} | fields, headers=JSON)


@pytest.fixture
def phone(evening: Evening) -> Client:
    return at(evening.world.vet.member)


@pytest.fixture
def report(evening: Evening) -> str:
    return f"/visits/{evening.visit.pk}/report/"


def iso(moment: datetime) -> str:
    return moment.isoformat()


def finished_at(evening: Evening) -> datetime:
    """Return when the vet said that they were done; on the visit it never lies before the call."""
    return evening.visit.reports.get(kind="finished").happened_at


def test_a_report_is_answered_with_the_page_to_go_to(evening: Evening, phone: Client, report: str) -> None:
    answer = press(phone, report, kind="finished")
    assert answer.json() == {"address": f"/visits/{evening.visit.pk}/"}
    assert finished_at(evening) == NOW


def test_the_same_press_sent_again_is_one_report(evening: Evening, phone: Client, report: str) -> None:
    press(phone, report, kind="finished")
    written = rows()
    assert press(phone, report, kind="finished").status_code == 200
    assert rows() == written


@pytest.mark.parametrize("wrong_by", [timedelta(0), timedelta(hours=9), -timedelta(days=400)])
def test_a_press_counts_from_how_long_ago_it_was(
    evening: Evening, phone: Client, report: str, wrong_by: timedelta
) -> None:
    """Whatever the phone's clock says, it runs as fast as ours."""
    shown = NOW + wrong_by
    press(phone, report, kind="finished", happened_at=iso(shown - timedelta(minutes=7)), sent_at=iso(shown))
    assert finished_at(evening) == NOW - timedelta(minutes=7)


def test_a_press_after_it_was_sent_happened_now(evening: Evening, phone: Client, report: str) -> None:
    press(phone, report, kind="finished", happened_at=iso(NOW + timedelta(hours=1)), sent_at=iso(NOW))
    assert finished_at(evening) == NOW


def test_without_a_time_of_sending_the_future_is_refused(phone: Client, report: str) -> None:
    answer = press(phone, report, kind="finished", happened_at=iso(NOW + timedelta(hours=1)))
    assert (answer.status_code, answer.json()["code"]) == (400, "from_the_future")


@pytest.mark.parametrize(
    "moment", ["yesterday", "2026-03-14T20:00", "0001-01-01T00:00Z", "9999-12-31T23:59-10:00"]
)
def test_what_is_no_moment_is_refused_in_json(phone: Client, report: str, moment: str) -> None:
    for field in ("happened_at", "sent_at"):
        answer = press(phone, report, kind="finished", **{field: moment})
        assert answer.status_code == 400
        assert answer.json()["detail"].endswith("Load the page again.")


def test_a_phone_that_is_signed_out_is_told_so_and_writes_nothing(report: str) -> None:
    before = rows()
    answer = press(at(None), report, kind="finished")
    assert (answer.status_code, answer.json()["code"]) == (401, "signed_out")
    assert rows() == before


def test_a_phone_whose_token_is_void_is_told_so(evening: Evening, report: str) -> None:
    browser = Client(enforce_csrf_checks=True)
    browser.force_login(evening.world.vet.member)
    answer = press(browser, report, kind="finished")
    assert (answer.status_code, answer.json()["code"]) == (403, "csrf_failed")


def test_an_acceptance_is_kept_with_the_moment_of_the_press(evening: Evening, phone: Client) -> None:
    address = f"/mine/offers/{evening.offer.pk}/accept/"
    pressed = NOW - timedelta(minutes=1)
    answer = press(phone, address, happened_at=iso(pressed), sent_at=iso(NOW))
    visit = Visit.objects.get(call=evening.offer.call)
    assert answer.json() == {"address": f"/visits/{visit.pk}/"}
    line = AuditLine.objects.get(verb="offer_accepted", subject=f"offer:{evening.offer.pk}")
    assert line.after["happened_at"] == pressed.isoformat().replace("+00:00", "Z")
    assert press(phone, address).json() == answer.json()


def test_an_acceptance_that_does_not_hold_is_refused_with_what_does(evening: Evening, phone: Client) -> None:
    with time_machine.travel(NOW + timedelta(hours=1), tick=False):
        answer = press(phone, f"/mine/offers/{evening.offer.pk}/accept/")
    assert answer.status_code == 409
    assert "lapsed at" in answer.json()["detail"]


@pytest.mark.parametrize("hours", [3, 8])
def test_who_finishes_at_night_is_asked_if_they_are_fit_to_drive(
    evening: Evening, phone: Client, hours: int
) -> None:
    now = NOW + timedelta(hours=hours)
    report_progress(
        visit_id=evening.visit.pk, actor=evening.world.vet.member, now=now, kind="finished", happened_at=now,
        key="finished at night",
    )  # fmt: skip
    with time_machine.travel(now, tick=False):
        page = phone.get(f"/visits/{evening.visit.pk}/").content.decode()
        assert "Are you fit to drive home?" in page
        (form,) = [each for each in forms_of(page) if each.action.endswith("/drive/")]
        assert form.buttons == {"answer": ["fit", "rest", "lift"]}
        answer = press(phone, form.action, answer="lift")
        assert answer.status_code == 200
        page = phone.get(f"/visits/{evening.visit.pk}/").content.decode()
    assert "You asked for a lift." in page
    assert "Are you fit to drive home?" not in page


def test_nobody_is_asked_by_day(evening: Evening, phone: Client) -> None:
    press(phone, f"/visits/{evening.visit.pk}/report/", kind="finished")
    with time_machine.travel(NOW + timedelta(hours=12), tick=False):
        page = phone.get(f"/visits/{evening.visit.pk}/").content.decode()
    assert "I am home, safe" in page
    assert "fit to drive home?" not in page
