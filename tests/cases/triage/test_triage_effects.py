"""Every effect of every row, at the answer that just meets it and the nearest one that does not."""

import pytest

from cases.triage import Urgency
from tests.cases.triage.calls import (
    RawEffect,
    benign_answers,
    limit_pair,
    raw_effects,
    raw_questions,
    raw_rows,
    severity,
    triage,
)

EFFECTS = raw_effects()
CLASSES = {urgency.value for urgency in Urgency}


def answered(effect: RawEffect, answer: object):
    return triage(effect.code, {**benign_answers(effect.code), effect.key: answer})


def effects_text(effect: RawEffect) -> str:
    row = next(row for row in raw_rows() if row["code"] == effect.code)
    return next(text for key, _, text in raw_questions(row) if key == effect.key)


def raised_to(assessment, key: str) -> set[Urgency]:
    """Classes that the reasons say this question led to."""
    return {r.urgency for r in assessment.reasons if r.question == key and r.urgency is not None}


def ids(effects: list[RawEffect]) -> list[str]:
    return [effect.name for effect in effects]


RAISES = [effect for effect in EFFECTS if effect.outcome in CLASSES]
FLAGS = [effect for effect in EFFECTS if effect.outcome.startswith("flag:")]
POINTS = [effect for effect in EFFECTS if effect.outcome == "+1"]
LOWERS = [effect for effect in EFFECTS if effect.outcome.startswith("lower:")]


def test_the_four_kinds_are_all_there_is() -> None:
    assert len(RAISES) + len(FLAGS) + len(POINTS) + len(LOWERS) == len(EFFECTS)
    assert min(len(RAISES), len(FLAGS), len(POINTS), len(LOWERS)) > 3


@pytest.mark.parametrize("effect", RAISES, ids=ids(RAISES))
def test_a_raising_answer_raises_and_its_neighbour_does_not(effect: RawEffect) -> None:
    inside, outside = limit_pair(effect)
    meets, misses = answered(effect, inside), answered(effect, outside)
    assert meets.urgency <= Urgency(effect.outcome)
    if Urgency(effect.outcome) <= meets.base_urgency:
        assert Urgency(effect.outcome) in raised_to(meets, effect.key)
    worse, _ = severity(effects_text(effect), outside)
    if worse < 5 - Urgency(effect.outcome).rank:  # no other condition of the question gives the class as well
        assert Urgency(effect.outcome) not in raised_to(misses, effect.key)


@pytest.mark.parametrize("effect", FLAGS, ids=ids(FLAGS))
def test_a_flagging_answer_sets_the_flag_and_its_neighbour_does_not(effect: RawEffect) -> None:
    flag = effect.outcome.removeprefix("flag:")
    inside, outside = limit_pair(effect)
    meets, misses = answered(effect, inside), answered(effect, outside)
    assert (flag, effect.key) in {(note.code, note.question) for note in meets.flags}
    assert (flag, effect.key) not in {(note.code, note.question) for note in misses.flags}
    assert all(note.sentence for note in meets.flags)


@pytest.mark.parametrize("effect", POINTS, ids=ids(POINTS))
def test_a_point_counts_and_its_neighbour_does_not(effect: RawEffect) -> None:
    inside, outside = limit_pair(effect)
    assert answered(effect, inside).points - answered(effect, outside).points == 1


@pytest.mark.parametrize("effect", LOWERS, ids=ids(LOWERS))
def test_a_lowering_is_only_proposed_and_its_neighbour_proposes_nothing(effect: RawEffect) -> None:
    inside, outside = limit_pair(effect)
    lone = {key: value for key, value in benign_answers(effect.code).items() if key != effect.key}
    for key in list(lone):  # answers that by themselves hold the class up would hide the proposal
        text = effects_text(RawEffect(effect.code, key, "", "", ""))
        if severity(text, lone[key])[0] or "lower:" in text:
            del lone[key]
    meets = triage(effect.code, {**lone, effect.key: inside})
    misses = triage(effect.code, {**lone, effect.key: outside})
    assert meets.urgency is meets.base_urgency, "nothing is lowered without a name"
    unknown = {reason.question for reason in meets.reasons if reason.kind.value == "unknown"}
    proposed = {proposal.question: proposal.to for proposal in meets.proposals}
    if not unknown:
        assert proposed == {effect.key: Urgency(effect.outcome.removeprefix("lower:"))}
    assert effect.key not in {proposal.question for proposal in misses.proposals}


@pytest.mark.parametrize("row", raw_rows(), ids=lambda row: row["code"])
def test_the_mildest_answers_leave_each_row_at_its_base_class(row: dict[str, str]) -> None:
    mildest = benign_answers(row["code"])
    texts = {key: text for key, _, text in raw_questions(row)}
    if any(severity(texts[key], mildest[key])[0] for key in mildest):
        pytest.fail("the generated answers are not mild")
    assessment = triage(row["code"], mildest)
    floored = {"uterine_prolapse_ewe": Urgency.IMMEDIATE}  # the womb is outside, whatever was answered
    assert assessment.urgency is floored.get(row["code"], Urgency(row["base_class"]))
    assert assessment.reask == ()
