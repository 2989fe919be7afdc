"""Soft points raise, a vet's name lowers, and neither ever hides what has become worse since."""

import pytest

from cases.triage import ArrivalTargets, Assessment, Urgency, VetWord, catalogue
from cases.triage.general import SOFT_MODIFIERS
from tests.cases.triage.calls import NIGHT, NOON, benign_answers, minutes, triage

MILD = benign_answers("lame_sheep")  # next working day


def points_for(assessment: Assessment) -> set[str | None]:
    """The questions that gave a soft point."""
    return {r.question for r in assessment.reasons if r.kind.value == "point" and r.question}


def test_a_no_gives_no_point_and_no_reason() -> None:
    assessment = triage("lame_sheep", {**MILD, "getting_worse": "no", "red_signs": 0})
    assert (assessment.points, points_for(assessment)) == (0, set())


def test_two_points_raise_one_class_and_one_point_does_not() -> None:
    one = triage("lame_sheep", {**MILD, "getting_worse": "yes"})
    assert (one.points, one.urgency) == (1, Urgency.NEXT_WORKING_DAY)
    two = triage("lame_sheep", {**MILD, "getting_worse": "yes", "hard_weather": "yes"})
    assert (two.points, two.urgency) == (2, Urgency.SAME_DAY)
    assert minutes(two.arrive_by) == 480
    assert any("2 soft points raise it one class, to same day" in reason.sentence for reason in two.reasons)


def test_points_never_raise_more_than_one_class() -> None:
    everything = {m.question.key: (2 if m.question.key == "red_signs" else "yes") for m in SOFT_MODIFIERS}
    assessment = triage("lame_sheep", {**MILD, **everything})
    assert assessment.points == len(SOFT_MODIFIERS) + 1
    assert assessment.urgency is Urgency.SAME_DAY


def test_points_do_not_raise_above_immediate() -> None:
    assessment = triage("milk_fever", {"down": "yes", "getting_worse": "yes", "hard_weather": "yes"})
    assert assessment.urgency is Urgency.IMMEDIATE
    assert not any("raise it one class" in reason.sentence for reason in assessment.reasons)


@pytest.mark.parametrize(("signs", "points"), [(0, 0), (1, 1), (2, 2), (3, 2)])
def test_vital_signs_in_the_red_band_count_two_at_most(signs: int, points: int) -> None:
    assert triage("lame_sheep", {**MILD, "red_signs": signs}).points == points


def test_the_points_of_a_row_and_of_the_call_add_up() -> None:
    mild = benign_answers("wound_wire_cut")
    assessment = triage("wound_wire_cut", {**mild, "tetanus_cover": "no", "nobody_to_nurse": "yes"})
    assert (assessment.points, assessment.urgency) == (2, Urgency.URGENT)


def test_a_fact_that_already_decided_the_class_earns_no_point_as_well() -> None:
    """Five bad legs raise the flock to same day; that there are many is the same fact."""
    extra = {"three_or_more": "yes", "hard_weather": "yes"}
    below = triage("lame_sheep", {**MILD, "no_weight": 4, **extra})
    assert (below.points, below.urgency) == (2, Urgency.SAME_DAY)
    assert points_for(below) == {"three_or_more", "hard_weather"}
    above = triage("lame_sheep", {**MILD, "no_weight": 5, **extra})
    assert (above.points, above.urgency) == (1, Urgency.SAME_DAY)
    assert points_for(above) == {"hard_weather"}


def test_a_fact_that_met_a_floor_earns_no_point_as_well() -> None:
    answers = {**benign_answers("down_cow"), "down_long_or_hard_ground": "yes", "hard_weather": "yes"}
    assert points_for(triage("down_cow", answers)) == {"down_long_or_hard_ground", "hard_weather"}
    assert points_for(triage("down_cow", {**answers, "flat_out": "yes"})) == {"hard_weather"}


def test_a_fact_that_gave_the_row_its_point_earns_no_second_one() -> None:
    mild = benign_answers("calf_scour")
    assessment = triage("calf_scour", {**mild, "affected": 3, "three_or_more": "yes"})
    assert (assessment.points, assessment.urgency) == (1, Urgency.SAME_DAY)


def test_a_fact_that_decided_nothing_keeps_its_point() -> None:
    """Otherwise the third sick ewe would make the call less urgent."""
    extra = {"three_or_more": "yes", "hard_weather": "yes"}
    mild = benign_answers("twin_lamb_disease")
    for affected in (2, 3):
        assessment = triage("twin_lamb_disease", {**mild, "affected": affected, **extra})
        assert (assessment.points, assessment.urgency) == (2, Urgency.URGENT)


def test_the_practice_sets_how_many_points_raise() -> None:
    strict = ArrivalTargets(points_to_raise=1)
    assert triage("lame_sheep", {**MILD, "getting_worse": "yes"}, targets=strict).urgency is Urgency.SAME_DAY


def test_each_modifier_watches_facts_that_are_asked_and_no_fact_is_watched_twice() -> None:
    watched = [key for modifier in SOFT_MODIFIERS for key in modifier.same_fact_as]
    assert len(watched) == len(set(watched)) > 20
    assert set(watched) <= {question.key for complaint in catalogue() for question in complaint.questions}


# Lowering


def test_the_table_proposes_and_only_a_named_vet_lowers() -> None:
    answers = {**benign_answers("down_cow"), "seen_today": "yes"}
    waiting = triage("down_cow", answers)
    assert waiting.urgency is Urgency.URGENT
    assert [(p.to, p.question) for p in waiting.proposals] == [(Urgency.SAME_DAY, "seen_today")]
    assert "by name" in waiting.proposals[0].sentence
    word = VetWord("Vet Three", lower_to=Urgency.SAME_DAY, reason="saw her at noon")
    lowered = triage("down_cow", answers, lowered_by=word)
    assert (lowered.urgency, lowered.lowered_by, lowered.proposals) == (Urgency.SAME_DAY, "Vet Three", ())
    assert minutes(lowered.arrive_by) == 480, "a lowered class has the class target"
    assert any(
        reason.sentence == "Vet Three set it to same day: saw her at noon." for reason in lowered.reasons
    )


def test_a_lowering_that_another_answer_holds_up_is_not_proposed() -> None:
    straight = triage("dystocia_cattle", {"pushing_min_cow": 20, "wrong_way": "no"})
    assert [proposal.to for proposal in straight.proposals] == [Urgency.URGENT]
    crooked = triage("dystocia_cattle", {"pushing_min_cow": 20, "wrong_way": "yes"})
    assert crooked.proposals == ()


def test_a_proposal_goes_no_lower_than_the_other_answers_allow() -> None:
    points = {"getting_worse": "yes", "hard_weather": "yes"}
    assessment = triage(
        "caesarean_cattle", {"planned": "yes", "standing": "yes", "vet_on_farm": "no", **points}
    )
    assert [proposal.to for proposal in assessment.proposals] == [Urgency.URGENT]


def test_a_vet_may_set_aside_answers_and_points_but_what_changes_afterwards_counts_again() -> None:
    heard: dict[str, object] = {"dead": 4, "blood_openings": "no", "slurry_mixing": "no", "ill": 0}
    heard |= {"getting_worse": "no", "hard_weather": "yes", "nobody_to_nurse": "yes"}
    word = VetWord("Vet One", lower_to=Urgency.SAME_DAY, answers_seen=heard)
    assert triage("sudden_deaths_multiple", heard).urgency is Urgency.IMMEDIATE
    lowered = triage("sudden_deaths_multiple", heard, lowered_by=word)
    assert (lowered.urgency, lowered.points) == (Urgency.SAME_DAY, 0)
    one_more_point = triage("sudden_deaths_multiple", {**heard, "getting_worse": "yes"}, lowered_by=word)
    assert (one_more_point.urgency, one_more_point.points) == (Urgency.SAME_DAY, 1)
    now_ill = triage("sudden_deaths_multiple", {**heard, "ill": 1}, lowered_by=word)
    assert now_ill.urgency is Urgency.IMMEDIATE
    more_dead = triage("sudden_deaths_multiple", {**heard, "dead": 5}, lowered_by=word)
    assert more_dead.urgency is Urgency.URGENT, "a changed answer was not what the vet heard"


def test_a_time_named_by_a_vet_falls_with_the_class_it_was_named_for() -> None:
    heard = benign_answers("teat_injury")
    morning = NIGHT.replace(hour=8, minute=30, day=12)
    word = VetWord("Vet Two", till_morning=True, arrive_by=morning, answers_seen=heard)
    assert triage("teat_injury", heard, called_at=NIGHT, lowered_by=word).arrive_by == morning
    worse = triage("teat_injury", {**heard, "bleeding": "yes"}, called_at=NIGHT, lowered_by=word)
    assert (worse.urgency, minutes(worse.arrive_by, NIGHT)) == (Urgency.IMMEDIATE, 60)


def test_answers_that_became_known_after_the_vet_spoke_count_in_full() -> None:
    heard = {"seen_today": "yes", "leg_odd": "no", "concrete": "no", "flat_out": "no", "hours_down": 3}
    word = VetWord("Vet Three", lower_to=Urgency.SAME_DAY, answers_seen=heard)
    assert triage("down_cow", heard, lowered_by=word).urgency is Urgency.SAME_DAY
    lost_sight = triage("down_cow", {**heard, "hours_down": "unknown"}, lowered_by=word)
    assert lost_sight.urgency is Urgency.URGENT


def test_a_vet_may_raise_by_the_same_word() -> None:
    word = VetWord("Vet Four", lower_to=Urgency.URGENT, reason="knows the cow")
    raised = triage("lame_sheep", MILD, lowered_by=word)
    assert (raised.urgency, minutes(raised.arrive_by, NOON)) == (Urgency.URGENT, 180)
