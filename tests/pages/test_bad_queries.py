"""Addresses with anything behind the question mark: days, searches, an assessment in the making."""

from typing import Any

import pytest

from rotas.models import Role
from tests.pages.forms import alerts_of
from tests.pages.site import Evening, at
from tests.pages.wrong_values import LONG, NO_CHOICE, NO_FIGURE, NO_TIME, TEXTS

QUERIES: dict[str, Any] = {
    "/book/": "day", "/book/day/": "day", "/rota/": "from", "/rota/month/": "day", "/rest/": "from",
    "/rest/table.csv": "to", "/rest/report.pdf": "fair", "/rest/report.xlsx": "from",
}  # fmt: skip


@pytest.mark.parametrize("address", QUERIES)
def test_a_day_that_cannot_be_meant_is_refused(evening: Evening, address: str) -> None:
    browser = at(evening.member(Role.MANAGER))
    for value in (
        *NO_TIME[:1],
        "0001-01-01",
        "9999-12-31",
        "2026-02-30",
        "2026-W11-6",
        "٢٠٢٦-٠٣-١٤",
        LONG,
        "\x00",
    ):
        answer = browser.get(address, {QUERIES[address]: value})
        assert answer.status_code == 400, (address, value)
        assert alerts_of(answer.content.decode())[0][-1] == "."
    for value in ("2000-01-01", "2099-12-31", ""):
        assert browser.get(address, {QUERIES[address]: value}).status_code in (200, 400), value


SEARCHES = {
    "/calls/take/farms/": ("farm", "caller_phone", "location"),
    "/calls/take/complaints/": ("said", "species", "complaint"),
    "/calls/take/questions/": ("complaint", "a_pushing_min_cow"),
    "/story/": ("word", "page"),
}


@pytest.mark.parametrize("address", SEARCHES)
def test_a_search_for_anything_finds_nothing_worse_than_nothing(evening: Evening, address: str) -> None:
    browser = at(evening.member(Role.MANAGER))
    for name in SEARCHES[address]:
        for value in (*TEXTS, *NO_CHOICE, *NO_FIGURE, "%", "\\", "(((", "+" * 300, " "):
            answer = browser.get(address, {name: value})
            assert answer.status_code == 200, (name, value)
            assert "<script>alert(1)" not in answer.content.decode()
        assert browser.get(address, {name: "\x00"}).status_code == 400


def test_an_assessment_in_the_making_says_what_is_wrong(evening: Evening) -> None:
    browser = at(evening.member(Role.RECEPTION))
    good = {"complaint": "dystocia_cattle", "species": "cattle"}
    for name in ("onset_h", "onset_min", "a_pushing_min_cow", "species", "a_nonsense"):
        for value in (*NO_FIGURE, LONG):
            answer = browser.post("/calls/take/assessed/", good | {name: value})
            assert answer.status_code == 200, (name, value)
            assert "<script>" not in answer.content.decode()
