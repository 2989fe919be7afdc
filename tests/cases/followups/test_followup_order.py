"""Whose list, in which order, who rings, what outlives its animal, and the codes for text messages."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cases.followups.callers import Absence, VetThen, who_rings
from cases.followups.codes import SIGNS, code_of, number_of
from cases.followups.order import LONG_AGO, SILENCE, Desk, is_pointless, is_silent, list_of, weight
from cases.followups.outliving import OUTLIVE_THE_ANIMAL, outlives
from cases.followups.replies import read_reply
from cases.followups.versions import templates

NOW = datetime(2026, 3, 14, 21, tzinfo=UTC)
SECOND = timedelta(seconds=1)
TREATING, DUTY = VetThen(1, "Ada"), VetThen(2, "Bo")


def test_the_treating_vet_rings_while_there() -> None:
    assert who_rings(TREATING, [DUTY]).vet_id == 1


@pytest.mark.parametrize("absence", list(Absence))
def test_while_the_treating_vet_is_away_the_duty_vet_rings_and_it_says_why(absence: Absence) -> None:
    ringer = who_rings(VetThen(1, "Ada", absence), [VetThen(3, "Cy", Absence.STOOD_DOWN), DUTY])
    assert (ringer.vet_id, ringer.why) == (2, f"Ada {absence.value}; Bo is on duty.")


def test_with_nobody_on_duty_the_desk_finds_a_vet() -> None:
    away = VetThen(1, "Ada", Absence.ON_LEAVE)
    for nobody in ([], [away], [VetThen(2, "Bo", Absence.STOOD_DOWN)]):
        ringer = who_rings(away, nobody)
        assert ringer.vet_id is None
        assert "the desk finds a vet" in ringer.why


@pytest.mark.parametrize(("waited", "silent"), [(SILENCE - SECOND, False), (SILENCE, True)])
def test_a_farm_that_does_not_answer_is_rung_by_the_desk(waited: timedelta, silent: bool) -> None:
    assert is_silent("farmer_self", NOW - waited, NOW) is silent
    assert not is_silent("vet_phone", NOW - waited, NOW)
    expected = Desk.RING if silent else Desk.FARM
    assert list_of("farmer_self", escalated=False, nobody_rings=False, silent=silent) is expected


@pytest.mark.parametrize(("age", "pointless"), [(LONG_AGO - SECOND, False), (LONG_AGO, True)])
def test_only_what_is_optional_and_120_days_overdue_is_offered_to_be_ended(
    age: timedelta, pointless: bool
) -> None:
    assert is_pointless("optional", NOW - age, NOW) is pointless
    assert not is_pointless("should", NOW - age, NOW)
    assert not is_pointless("must", NOW - age, NOW)


@pytest.mark.parametrize(
    ("who", "desk"),
    [
        ("farmer_self", Desk.FARM), ("reception_phone", Desk.RING), ("vet_phone", Desk.VET),
        ("vet_visit", Desk.VISIT), ("nurse_visit", Desk.VISIT), ("lab", Desk.LAB),
    ],
)  # fmt: skip
def test_every_check_stands_on_the_list_of_who_does_it(who: str, desk: Desk) -> None:
    assert list_of(who, escalated=False, nobody_rings=False, silent=False) is desk
    assert list_of(who, escalated=True, nobody_rings=True, silent=True) is Desk.URGENT


def test_a_vets_call_that_no_vet_has_stands_with_the_desk() -> None:
    assert list_of("vet_phone", escalated=False, nobody_rings=True, silent=False) is Desk.RING


def test_musts_come_before_what_is_older_and_what_cannot_wait_before_all() -> None:
    rows = {
        "old optional": weight("optional", NOW - LONG_AGO, escalated=False),
        "should": weight("should", NOW - 2 * SECOND, escalated=False),
        "new must": weight("must", NOW, escalated=False),
        "old must": weight("must", NOW - SECOND, escalated=False),
        "urgent": weight("optional", NOW, escalated=True),
    }
    assert sorted(rows, key=lambda name: rows[name]) == [
        "urgent", "old must", "new must", "should", "old optional",
    ]  # fmt: skip


def test_what_outlives_an_animal_names_templates_that_exist_and_every_laboratory_result() -> None:
    assert set(templates()) >= OUTLIVE_THE_ANIMAL
    assert outlives("fu_lab", "lab")
    assert outlives("fu_euthanasia", "reception_phone")
    assert not outlives("fu_calving", "farmer_self")


@given(st.integers(1, 10**12))
def test_a_code_names_its_row_in_either_case(number: int) -> None:
    assert number_of(code_of(number)) == number
    assert number_of(f" {code_of(number).lower()} ") == number


@given(st.integers(1, 10**7), st.data())
def test_one_wrong_sign_or_two_changed_about_name_no_row(number: int, data: st.DataObject) -> None:
    code = code_of(number)
    place = data.draw(st.integers(0, len(code) - 1))
    sign = data.draw(st.sampled_from([sign for sign in SIGNS if sign != code[place]]))
    assert number_of(code[:place] + sign + code[place + 1 :]) is None
    other = data.draw(st.integers(0, len(code) - 2))
    swapped = code[:other] + code[other + 1] + code[other] + code[other + 2 :]
    assert swapped == code or number_of(swapped) is None


@pytest.mark.parametrize("number", [0, -1])
def test_keys_start_at_one(number: int) -> None:
    with pytest.raises(ValueError, match="start at 1"):
        code_of(number)


@given(st.text(max_size=40))
def test_any_text_is_read_or_left(text: str) -> None:
    said = read_reply(text)
    assert said is None or said.words in text


@pytest.mark.parametrize(
    ("text", "fine", "words"),
    [
        ("1", True, ""),
        ("FINE", True, ""),
        ("2: down again", False, "down again"),
        ("Not fine, she is cold", False, "she is cold"),
        ("not-fine", False, ""),
    ],
)
def test_an_answer_without_a_code_keeps_its_words(text: str, fine: bool, words: str) -> None:
    said = read_reply(text)
    assert said is not None
    assert (said.fine, said.recheck, said.words) == (fine, None, words)


def test_an_answer_with_a_code_names_its_check() -> None:
    said = read_reply(f"2 {code_of(1234)}, still down")
    assert said is not None
    assert (said.fine, said.recheck, said.words) == (False, 1234, "still down")
    assert "still down" in said.rest
