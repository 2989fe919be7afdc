"""Finding the complaint by what a caller says, in any order, with small slips."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cases.triage import catalogue, search


def codes(text: str, **more: object) -> list[str]:
    return [found.complaint.code for found in search(text, **more)]


@pytest.mark.parametrize("complaint", list(catalogue()), ids=lambda complaint: complaint.code)
def test_each_complaint_is_found_first_by_its_code_and_near_the_top_by_its_name(complaint) -> None:
    assert codes(complaint.code)[0] == complaint.code
    assert complaint.code in codes(complaint.trade_name)[:3]


@pytest.mark.parametrize("complaint", list(catalogue()), ids=lambda complaint: complaint.code)
def test_each_complaint_is_found_by_what_callers_say(complaint) -> None:
    assert complaint.code in codes(complaint.caller_says)[:3]


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("calf bed out", "uterine_prolapse_cow"),
        ("out bed calf", "uterine_prolapse_cow"),
        ("milk fever", "milk_fever"),
        ("milk fevr", "milk_fever"),
        ("FEVER, MILK!", "milk_fever"),
        ("LDA", "left_displaced_abomasum"),
        ("twin lam disease", "twin_lamb_disease"),
        ("lamanitis", "laminitis_acute"),
        ("red bag", "foaling_trouble"),
        ("fly strke", "fly_strike"),
        ("not cleansed mare", "retained_placenta_mare"),
        ("dificult calving", "dystocia_cattle"),
        ("put her down", "euthanasia_request"),
    ],
)
def test_slips_and_order_do_not_matter(text: str, code: str) -> None:
    assert codes(text)[0] == code


def test_the_species_narrows_the_list() -> None:
    assert codes("choke", species="horse")[0] == "choke_horse"
    assert codes("choke", species="cattle")[0] == "choke_cattle"
    assert all("pig" in found.complaint.species for found in search("down", species="pig"))


def test_nothing_said_finds_nothing_and_the_limit_holds() -> None:
    assert search("") == search("  !? ") == search("she is at it") == ()
    assert len(search("cow", limit=3)) == 3


@settings(deadline=None)
@given(st.text())
def test_any_text_can_be_searched(text: str) -> None:
    scores = [found.score for found in search(text)]
    assert scores == sorted(scores, reverse=True)
    assert all(0 < score <= 1 for score in scores)
