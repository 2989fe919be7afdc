"""Every field of every form, as the pages draw them, against everything that can be wrong.

Whatever cannot be meant is refused with a sentence, keeps what was typed, and writes nothing; the
rest is kept as typed and never read as markup. No answer is ever a 500.
"""

from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from django.db import transaction
from django.http import HttpResponse
from django.test import Client

from rotas.models import Role
from tests.pages.forms import Field, Form, alerts_of, forms_of
from tests.pages.good_values import good_values, theirs_of
from tests.pages.site import Evening, at, rows
from tests.pages.wrong_values import LONG, NO_CHOICE, NO_FIGURE, NO_TIME, NO_WHOLE, TEXTS
from tests.running.in_turn import InTurn


class Desk:
    """One form of one page with a good example in it."""

    def __init__(self, browser: Client, form: Form, good: dict[str, str]) -> None:
        self.browser, self.form, self.good = browser, form, form.filled() | good
        self.before = rows()

    def uses(self, field: Field) -> bool:
        """Say whether the field is more than a box, a word to search by, or an answer for triage to judge."""
        needless = field.name == "species" and "animal" in self.good  # asked of a new animal only
        return not (
            needless
            or field.kind == "checkbox"
            or field.name in ("said", "farm", "back")
            or field.name[:2] == "a_"
        )

    def send(self, **values: str | None) -> HttpResponse:
        said = {name: value for name, value in (self.good | values).items() if value is not None}
        headers = {"HX-Request": "true"} if self.form.action == "/calls/take/" else {}
        return self.browser.post(self.form.action, said, headers=headers)

    def refuses(self, name: str, value: str | None) -> None:
        """Send one wrong value: a 4xx with a sentence, nothing written, all the others still in place."""
        answer = self.send(**{name: value})
        told = f"{self.form.action} {name}={value!r:.60}: {answer.status_code}"
        assert 400 <= answer.status_code < 500, told
        html = answer.content.decode()
        assert alerts_of(html), told
        assert all(alert[-1] in ".?!”" for alert in alerts_of(html)), (told, alerts_of(html))
        assert rows() == self.before, told
        self._keeps(html, name, told)

    def _keeps(self, html: str, wrong: str, told: str) -> None:
        again = next((form for form in forms_of(html) if form.action == self.form.action), None)
        if again is None:  # nothing but buttons, or a sign that nobody typed: a page of its own says so
            assert "sign that is no letter" in html or not any(each.is_written for each in self.form.typed), (
                told
            )
            return
        for name, field in again.fields.items():
            if name in self.good and name not in (wrong, "key"):
                assert field.value == self.good[name], f"{told} lost {name}"

    def takes(self, name: str, text: str) -> None:
        """Send a strange text: kept as text or refused, never markup, and taken back here."""
        with undone():
            answer = self.send(**{name: text})
            assert answer.status_code < 500, (self.form.action, name, text)
            where = answer.headers.get("HX-Redirect") or answer.headers.get("Location")
            shown = self.browser.get(where) if where else answer
            assert "<script>alert(1)" not in shown.content.decode(), (self.form.action, name)
            if not where and answer.status_code >= 400:
                assert rows() == self.before


@contextmanager
def undone() -> Iterator[None]:
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


WITH_PARTS = (
    "dose_amount", "hours", "weight_kg", "mg_per_ml", "value", "max_dose", "ceiling",
    "finding-days_since_calving", "finding-heart_rate", "finding-temperature", "finding-ketones",
    "finding-hours_ill",
)  # fmt: skip
LOOKS = ("/medicines/file/look/", "/medicines/starter/look/")
"""Forms that write nothing; they lead to the ones that take what was looked at."""
PLACES = (
    "/calls/take/", "/calls/", "/visits/", "/withdrawals/", "/book/", "/aftercare/", "/rota/", "/rest/",
    "/mine/", "/offers/", "/medicines/", "/sales/", "/farms/", "/holds/", "/rechecks/", "/procedures/",
    "/messages/", "/pens/", "/treatments/",
)  # fmt: skip


@pytest.fixture(scope="module")
def drawn(both: tuple[Evening, Evening]) -> dict[str, tuple[str, Form]]:
    """Every form of every page by where it is sent, with the role that sends it."""
    evening, found = both[0], {}
    for address, roles in evening.pages.items():
        for role in (Role.VET, Role.MANAGER):
            if role in roles:
                page = at(evening.member(role)).get(address).content.decode()
                found |= {form.action: (role, form) for form in forms_of(page) if form.action not in found}
    return {action: form for action, form in found.items() if action not in ("/sign-out/", *LOOKS)}


@pytest.fixture(params=PLACES)
def forms(request: pytest.FixtureRequest, evening: Evening, drawn: dict[str, tuple[str, Form]]) -> list[Desk]:
    """The forms that are sent below one place."""
    found = [
        Desk(at(evening.member(role)), form, good_values(evening, action))
        for action, (role, form) in drawn.items()
        if next((place for place in PLACES if action.startswith(place)), "") == request.param
    ]
    assert found, f"no page shows a form for {request.param}"
    return found


def test_every_write_has_a_form_on_a_page(evening: Evening, drawn: dict[str, tuple[str, Form]]) -> None:
    """What this file tries is found on the pages; the words on how urgent it is are no form of their own.

    The common cover is offered only before there has ever been any.
    """
    found = {action.split("?")[0] for action in drawn}
    assert [action for action in drawn if not action.startswith(PLACES)] == []
    unseen = {
        "/calls/take/assessed/",
        "/rota/cover/common/",
        "/medicines/file/",
        "/medicines/starter/",
        *LOOKS,
    }
    elsewhere = ("/treatments/check/", "/not-done/", "/book/", "/event/", "/vet/")  # shown in other states
    unseen |= {address for address in evening.writes if address.endswith(elsewhere)}
    assert evening.writes.keys() - found <= unseen


def taken_by(desk: Desk) -> tuple[int, ...]:
    """A form leads on to a page; only what is shown once stands on the answer itself."""
    return (200,) if desk.form.action == "/rota/calendar/" else (204, 302)


def test_a_good_form_is_taken(forms: list[Desk]) -> None:
    for desk in forms:
        with undone():
            answer = desk.send()
            assert answer.status_code in taken_by(desk), (
                desk.form.action,
                alerts_of(answer.content.decode()),
            )
            assert rows() != desk.before, desk.form.action


def test_a_form_that_is_sent_twice_is_taken_once(forms: list[Desk]) -> None:
    for desk in forms:
        with undone():
            first = desk.send()
            written = rows()
            again = desk.send()
            told = (desk.form.action, again.status_code)
            assert again.status_code in taken_by(desk) or 400 <= again.status_code < 500, told
            if "key" in desk.form.fields:
                assert again.headers.get("Location") == first.headers.get("Location"), told
            if not desk.form.action.endswith("/feel/"):
                assert rows() == written, told


def wrong_values(field: Field) -> tuple[str, ...]:
    if field.kind == "datetime-local":
        return NO_TIME
    if field.kind in ("select", "radio", "hidden"):
        return NO_CHOICE
    if field.figures:
        if field.name == "hours_slept":
            return (*NO_FIGURE, "14.25", "5.1", "5,125")
        parts_too = field.name in WITH_PARTS or field.name.startswith("PR_")
        return NO_FIGURE if parts_too else (*NO_FIGURE, *NO_WHOLE)
    return (LONG,)


def test_what_cannot_be_meant_is_refused_and_what_was_typed_stays(forms: list[Desk]) -> None:
    dealt = InTurn()
    for desk in forms:
        for field in filter(desk.uses, desk.form.typed):
            values = wrong_values(field)
            for value in dealt.some(values, values):
                if value not in field.choices:
                    desk.refuses(field.name, value)


def test_an_answer_that_triage_cannot_use_is_refused(forms: list[Desk]) -> None:
    """Which answers a question takes is for triage to say; whatever it says, it says it in words."""
    dealt, values = InTurn(), ("NaN", "Infinity", "-Infinity", str(10**30), "<b>", "no such word", LONG)
    for desk in forms:
        for field in desk.form.typed:
            if field.name.startswith("a_"):
                for value in dealt.some(field.kind, values):
                    desk.refuses(field.name, value)


def test_what_is_missing_or_empty_is_asked_for(forms: list[Desk]) -> None:
    dealt = InTurn()
    for desk in forms:
        for field in desk.form.typed:
            if field.required and len(field.choices) != 1:
                blank = not field.choices and field.kind != "datetime-local"
                for value in dealt.one(blank, (None, "", "   ") if blank else (None, "")):
                    desk.refuses(field.name, value)


def test_a_sign_that_no_database_keeps_is_refused_everywhere(forms: list[Desk]) -> None:
    """One gate before every view looks for it, so a share of each form's names is enough."""
    dealt = InTurn()
    for desk in forms:
        names = [*desk.form.fields, *desk.form.buttons]
        for name in dealt.some("name", names):
            if name != "csrfmiddlewaretoken":
                desk.refuses(name, "a\x00b")
        with undone():
            half = "reason=%ED%A0%80&result=%FF%FE&vet=%80&name=%ED%A0%80"
            answer = desk.browser.post(desk.form.action, half, "application/x-www-form-urlencoded")
            assert answer.status_code < 500, desk.form.action


def test_strange_text_is_text(forms: list[Desk]) -> None:
    dealt = InTurn()
    for desk in forms:
        names = [each.name for each in desk.form.typed if each.kind in ("text", "textarea", "tel")]
        for name in names:
            for text in dealt.one("text", TEXTS):
                desk.takes(name, text)


def test_a_button_that_is_on_no_page_does_nothing(forms: list[Desk]) -> None:
    for desk in forms:
        for name in desk.form.buttons:
            for value in ("", "no such word", "9" * 30, LONG):
                desk.refuses(name, value)


def test_another_practices_rows_cannot_be_chosen(forms: list[Desk], theirs: Evening) -> None:
    other = theirs_of(theirs)
    for desk in forms:
        desk.before = rows()
        for name in other.keys() & desk.form.fields.keys():
            answer = desk.send(**{name: other[name]})
            assert answer.status_code in (400, 404), (desk.form.action, name, answer.status_code)
            assert rows() == desk.before, (desk.form.action, name)


def test_a_body_over_the_limit_is_answered_with_a_page(evening: Evening) -> None:
    browser, before = at(evening.member(Role.MANAGER)), rows()
    for address in evening.writes:
        answer = browser.post(address, {"reason": "x" * 1_100_000})
        assert answer.status_code == 413, address
        assert "at most 1024 kB" in alerts_of(answer.content.decode())[0]
    assert rows() == before


def test_more_fields_than_any_form_has_are_refused(evening: Evening) -> None:
    answer = at(evening.member(Role.MANAGER)).post("/book/", {f"f{number}": "1" for number in range(600)})
    assert answer.status_code == 400
