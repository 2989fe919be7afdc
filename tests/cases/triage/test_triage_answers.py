"""What answers are taken, what is refused and in which words, and what not knowing means."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cases.triage import AnswerError, Urgency, questions_for
from tests.cases.triage.calls import NOON, benign_answers, minutes, triage


@pytest.mark.parametrize("yes", [True, "yes", "YES", " Yes ", "true"])
def test_a_yes_is_taken_as_a_page_or_a_program_sends_it(yes: object) -> None:
    assert triage("vaginal_prolapse_cow", {"calved": yes}).urgency is Urgency.IMMEDIATE


@pytest.mark.parametrize("number", [40, 40.0, "40", " 40 ", "40.0"])
def test_a_number_is_taken_as_a_page_or_a_program_sends_it(number: object) -> None:
    mild = benign_answers("metritis_toxic_cow")
    assert triage("metritis_toxic_cow", {**mild, "temp_c": number}).urgency is Urgency.URGENT


def test_a_decimal_limit_is_exact() -> None:
    mild = benign_answers("metritis_toxic_cow")
    assert triage("metritis_toxic_cow", {**mild, "temp_c": 39.999}).urgency is Urgency.SAME_DAY
    assert triage("metritis_toxic_cow", {**mild, "temp_c": 37.5}).urgency is Urgency.SAME_DAY
    assert triage("metritis_toxic_cow", {**mild, "temp_c": 37.499}).urgency is Urgency.IMMEDIATE


@pytest.mark.parametrize(
    ("code", "key", "bad", "word"),
    [
        ("milk_fever", "down", "perhaps", "yes, no or unknown"),
        ("milk_fever", "down", 1, "yes, no or unknown"),
        ("milk_fever", "down", ["yes"], "yes, no or unknown"),
        ("milk_fever", "down", {"a": 1}, "yes, no or unknown"),
        ("milk_fever", "hours_down", "a while", "a number from 0 to 2160 (h)"),
        ("milk_fever", "hours_down", -1, "a number"),
        ("milk_fever", "hours_down", 2161, "a number"),
        ("milk_fever", "hours_down", math.nan, "a number"),
        ("milk_fever", "hours_down", math.inf, "a number"),
        ("milk_fever", "hours_down", "NaN", "a number"),
        ("milk_fever", "hours_down", "1e400", "a number"),
        ("milk_fever", "hours_down", True, "a number"),
        ("milk_fever", "hours_down", "9" * 5000, "a number"),
        ("milk_fever", "hours_down", "3,5", "a number"),
        ("milk_fever", "others", 1.5, "a whole number"),
        ("metritis_toxic_cow", "temp_c", 104, "from 20 to 45 (C)"),  # Fahrenheit
        ("left_displaced_abomasum", "ping_side", "up", "left, right, neither or unknown"),
        ("residue_incident", "product", 7, "up to 500 characters"),
        ("residue_incident", "product", "x" * 501, "up to 500 characters"),
        ("residue_incident", "product", "a\x00b", "up to 500 characters"),
    ],
)
def test_a_wrong_answer_is_refused_by_its_question(code: str, key: str, bad: object, word: str) -> None:
    with pytest.raises(AnswerError) as caught:
        triage(code, {key: bad})
    assert caught.value.field == key
    assert word in caught.value.sentence
    label = next(question.label for question in questions_for(code) if question.key == key)
    assert label in caught.value.sentence


@pytest.mark.parametrize(
    ("code", "key", "low", "high"),
    [
        ("milk_fever", "others", 0, 100_000),
        ("wound_haemorrhage", "minutes", 0, 20_160),
        ("milk_fever", "hours_down", 0, 2_160),
        ("ketosis", "days_calved", 0, 4_000),
        ("metritis_toxic_cow", "temp_c", 20, 45),
        ("colic_horse", "heart_rate", 0, 400),
        ("calf_scour", "eye_gap_mm", 0, 50),
        ("fly_strike", "area_cm", 0, 300),
    ],
)
def test_numbers_are_taken_up_to_the_limit_and_not_beyond(code: str, key: str, low: int, high: int) -> None:
    for number in (low, high):
        assert triage(code, {key: number}).urgency
    for number in (low - 1, high + 1):
        with pytest.raises(AnswerError, match=f"from {low} to {high}"):
            triage(code, {key: number})


@pytest.mark.parametrize("text", ["plain", "😀 مرحبا", "<script>alert(1)</script>", "x" * 500])
def test_free_text_is_taken_as_it_is(text: str) -> None:
    assert triage("residue_incident", {"product": text}).urgency is Urgency.IMMEDIATE


def test_a_stray_question_is_refused_and_the_right_ones_are_named() -> None:
    with pytest.raises(AnswerError) as caught:
        triage("post_calving_bleed", {"wool": "yes"})
    assert caught.value.field == "wool"
    assert "spurting, pale" in caught.value.sentence


@pytest.mark.parametrize("answers", ["down=yes", ["down"], 7])
def test_answers_that_are_no_set_are_refused(answers: object) -> None:
    with pytest.raises(AnswerError) as caught:
        triage("milk_fever", answers)  # type: ignore[arg-type] -- bad on purpose
    assert caught.value.field == "answers"


@pytest.mark.parametrize("code", ["", "MILK_FEVER", None, 7, "x" * 1000])
def test_a_complaint_that_is_not_in_the_table_is_refused(code: object) -> None:
    with pytest.raises(AnswerError) as caught:
        triage(code)  # type: ignore[arg-type] -- bad on purpose
    assert caught.value.field == "code"


def test_a_horse_has_no_milk_fever() -> None:
    with pytest.raises(AnswerError) as caught:
        triage("milk_fever", species="horse")
    assert (caught.value.field, "cattle" in caught.value.sentence) == ("species", True)
    assert triage("milk_fever", species="cattle").urgency is Urgency.IMMEDIATE


KEYS = st.one_of(st.sampled_from(["down", "flat_out", "hours_down", "others"]), st.text(max_size=12))
VALUES = st.one_of(st.none(), st.text(), st.floats(), st.integers(), st.booleans(), st.lists(st.none()))


def answer_or_refusal(answers: dict[str, object]) -> Urgency | str:
    try:
        return triage("milk_fever", answers).urgency
    except AnswerError as refusal:
        return refusal.sentence


@settings(deadline=None)
@given(st.dictionaries(KEYS, VALUES))
def test_whatever_is_sent_is_answered_or_refused_in_words(answers: dict[str, object]) -> None:
    said = answer_or_refusal(answers)
    assert said is Urgency.IMMEDIATE or (isinstance(said, str) and said.endswith("."))


def test_a_number_too_long_to_print_is_refused() -> None:
    with pytest.raises(AnswerError):
        triage("milk_fever", {"hours_down": 10**5000})


VITAL = [
    ("retained_membranes_cow", "down", Urgency.URGENT),
    ("teat_injury", "bleeding", Urgency.IMMEDIATE),
    ("calf_scour", "stands", Urgency.URGENT),
    ("dystocia_ewe", "pushing_min", Urgency.IMMEDIATE),
    ("calf_pneumonia_outbreak", "mouth_breathing", Urgency.URGENT),
    ("tying_up", "down", Urgency.IMMEDIATE),
    ("foal_sick", "flat", Urgency.IMMEDIATE),
]


@pytest.mark.parametrize(("code", "key", "worst"), VITAL)
@pytest.mark.parametrize("unknown", [None, "unknown", "", "absent"])
def test_breathing_bleeding_birth_and_down_count_as_the_worse_answer(
    code: str, key: str, worst: Urgency, unknown: str | None
) -> None:
    answers = {**benign_answers(code), key: unknown}
    if unknown == "absent":
        del answers[key]
    assessment = triage(code, answers)
    assert assessment.urgency is worst
    reask = next(reask for reask in assessment.reask if reask.question == key)
    assert minutes(reask.by, NOON) == 15
    assert any(reason.kind.value == "unknown" for reason in assessment.reasons if reason.question == key)


def test_other_unknowns_only_wait_to_be_asked_again() -> None:
    mild = benign_answers("lame_cattle")
    assessment = triage("lame_cattle", {**mild, "no_weight": "unknown"})
    assert assessment.urgency is Urgency.NEXT_WORKING_DAY
    assert [reask.question for reask in assessment.reask] == ["no_weight"]


def test_what_only_informs_is_not_asked_again() -> None:
    mild = benign_answers("dystocia_cattle")
    del mild["calf_alive"]
    assert triage("dystocia_cattle", mild).reask == ()


def test_a_cow_that_calved_before_is_not_asked_as_a_heifer_too() -> None:
    cow = triage("dystocia_cattle", {"pushing_min_cow": 20, "wrong_way": "no", "pulled_min": 0})
    assert cow.reask == ()
    assert [proposal.to for proposal in cow.proposals] == [Urgency.URGENT]
    nobody_knows = triage("dystocia_cattle", {"wrong_way": "no", "pulled_min": 0})
    assert {reask.question for reask in nobody_knows.reask} == {"pushing_min_cow", "pushing_min_heifer"}


def test_a_cow_that_is_up_is_not_asked_how_long_she_was_down() -> None:
    up = triage("milk_fever", {"down": "no", "others": 0})
    assert up.reask == ()
    assert [proposal.to for proposal in up.proposals] == [Urgency.URGENT]
    unsure = triage("milk_fever", {"down": "unknown", "others": 0})
    assert {reask.question for reask in unsure.reask} == {"down", "flat_out", "hours_down"}
    assert unsure.proposals == ()


def test_general_questions_not_asked_yet_are_named() -> None:
    assessment = triage("milk_fever", {"cannot_breathe": "no"})
    assert "cannot_breathe" not in assessment.not_asked
    assert "person_in_danger" in assessment.not_asked
