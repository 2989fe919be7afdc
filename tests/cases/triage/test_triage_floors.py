"""Each hard floor, just inside and just outside, on rows mild enough for the floor alone to decide."""

import pytest

from cases.triage import AnswerError, Urgency, VetWord, catalogue
from cases.triage.general import FLOOR_QUESTIONS, NOTIFIABLE_QUESTION
from tests.cases.triage.calls import NOON, benign_answers, minutes, triage

GENERAL_FLOORS = [question.key for question in FLOOR_QUESTIONS if question.key != NOTIFIABLE_QUESTION]


@pytest.mark.parametrize("key", GENERAL_FLOORS)
@pytest.mark.parametrize("code", ["lame_sheep", "mastitis_mild", "herd_fertility_visit"])
def test_a_general_floor_makes_any_complaint_immediate(code: str, key: str) -> None:
    mild = benign_answers(code)
    assert triage(code, {**mild, key: "no"}).urgency is catalogue()[code].base_class
    met = triage(code, {**mild, key: "yes"})
    assert met.urgency is Urgency.IMMEDIATE
    assert [reason.kind.value for reason in met.reasons if reason.question == key] == ["floor"]


@pytest.mark.parametrize("key", ["cannot_breathe", "blood_in_stream", "flat_out_blown"])
def test_not_knowing_about_breathing_bleeding_or_being_flat_out_counts_as_yes(key: str) -> None:
    mild = benign_answers("lame_sheep")
    unknown = triage("lame_sheep", {**mild, key: "unknown"})
    assert unknown.urgency is Urgency.IMMEDIATE
    assert key in {reask.question for reask in unknown.reask}
    assert triage("lame_sheep", mild).urgency is Urgency.NEXT_WORKING_DAY, (
        "not asked is not the same as unknown"
    )


@pytest.mark.parametrize("key", ["suffering_now", "fits_now", "organ_outside", "poison_source_open"])
def test_not_knowing_the_other_floors_does_not_meet_them(key: str) -> None:
    mild = benign_answers("lame_sheep")
    assert triage("lame_sheep", {**mild, key: "unknown"}).urgency is Urgency.NEXT_WORKING_DAY


BIRTH = [
    ("dystocia_cattle", "pushing_min_cow", 30, Urgency.IMMEDIATE, "S1"),
    ("dystocia_cattle", "pushing_min_heifer", 60, Urgency.IMMEDIATE, "S1"),
    ("dystocia_ewe", "pushing_min", 60, Urgency.IMMEDIATE, "cp"),
    ("sow_farrowing_trouble", "min_since_last", 60, Urgency.URGENT, "S30"),
    ("sow_farrowing_trouble", "min_since_last", 120, Urgency.IMMEDIATE, "S30"),
    ("foaling_trouble", "min_since_water", 5, Urgency.IMMEDIATE, "S32"),
    ("foaling_trouble", "no_progress_min", 10, Urgency.IMMEDIATE, "S32"),
    ("dystocia_camelid", "push_min", 30, Urgency.IMMEDIATE, "S33"),
]


@pytest.mark.parametrize(("code", "key", "limit", "at_least", "source"), BIRTH)
def test_birth_without_progress_meets_its_floor_at_the_minute(
    code: str, key: str, limit: int, at_least: Urgency, source: str
) -> None:
    def floors(value: int) -> list[tuple[Urgency | None, bool]]:
        answers = {**benign_answers(code), key: value}
        reasons = triage(code, answers).reasons
        return [
            (reason.urgency, source in reason.source_keys)
            for reason in reasons
            if reason.kind.value == "floor"
        ]

    assert floors(limit) == [(at_least, True)]
    assert (at_least, True) not in floors(limit - 1)


def test_a_ewe_in_labour_is_urgent_at_59_minutes_and_immediate_at_60() -> None:
    mild = benign_answers("dystocia_ewe")
    assert triage("dystocia_ewe", {**mild, "pushing_min": 59}).urgency is Urgency.URGENT
    assert triage("dystocia_ewe", {**mild, "pushing_min": 60}).urgency is Urgency.IMMEDIATE


def test_the_sow_is_immediate_at_120_minutes_and_urgent_before() -> None:
    mild = benign_answers("sow_farrowing_trouble")
    assert triage("sow_farrowing_trouble", {**mild, "min_since_last": 119}).urgency is Urgency.URGENT
    assert triage("sow_farrowing_trouble", {**mild, "min_since_last": 120}).urgency is Urgency.IMMEDIATE


@pytest.mark.parametrize(
    ("code", "key"),
    [
        ("teat_injury", "bleeding"),
        ("wound_wire_cut", "guts"),
        ("post_op_complication", "gut_showing"),
        ("prolapsed_rectum", "gut"),
        ("casualty_slaughter", "suffering"),
        ("colic_horse", "violent"),
        ("foal_sick", "flat"),
        ("down_cow", "flat_out"),
        ("nervous_signs", "fitting"),
        ("nervous_signs", "rubbish"),
        ("respiratory_distress_cattle", "mouth_open"),
        ("lead_poisoning", "source_found"),
    ],
)
def test_a_rows_own_answer_can_meet_a_floor(code: str, key: str) -> None:
    mild = benign_answers(code)
    assert triage(code, {**mild, key: "no"}).urgency is not Urgency.IMMEDIATE
    met = triage(code, {**mild, key: "yes"})
    assert met.urgency is Urgency.IMMEDIATE
    assert "floor" in {reason.kind.value for reason in met.reasons if reason.question == key}


def test_a_lamb_bed_out_is_never_below_immediate_though_its_row_starts_at_urgent() -> None:
    assessment = triage("uterine_prolapse_ewe", {"pale": "no", "hours": 0})
    assert assessment.base_urgency is Urgency.URGENT
    assert assessment.urgency is Urgency.IMMEDIATE
    assert minutes(assessment.arrive_by) == 60, "the row's own target is as tight as the class"


@pytest.mark.parametrize(
    ("code", "answers"),
    [
        ("suspected_notifiable", {"blisters": "no", "several": 0}),
        ("orf", {"feet_or_blisters": "yes"}),
        ("lame_sheep", {"blisters": "yes"}),
        ("lame_sheep", {"notifiable_suspected": "yes"}),
        ("sudden_deaths_multiple", {"blood_openings": "yes"}),
        ("herd_fertility_visit", {"notifiable_suspected": "yes"}),
    ],
)
def test_suspicion_puts_a_vet_on_the_telephone_within_15_minutes(
    code: str, answers: dict[str, object]
) -> None:
    assessment = triage(code, {**benign_answers(code), **answers})
    assert minutes(assessment.vet_phone_by) <= 15
    assert assessment.authority_directs_visit
    assert "notifiable_possible" in {flag.code for flag in assessment.flags}


def test_without_suspicion_the_row_keeps_its_own_telephone_time() -> None:
    """Its standing flag is a caution and not a suspicion."""
    assessment = triage("sudden_deaths_multiple", benign_answers("sudden_deaths_multiple"))
    assert minutes(assessment.vet_phone_by) == 20
    assert not assessment.authority_directs_visit


def test_a_person_in_danger_rings_the_ambulance_first() -> None:
    quiet = triage("trapped_animal_rescue", {"person": "no"})
    assert [service.code for service in quiet.emergency_first] == ["fire_rescue"]
    hurt = triage("trapped_animal_rescue", {"person": "yes", "road": "yes"})
    assert [service.code for service in hurt.emergency_first] == ["ambulance", "fire_rescue", "police"]
    anywhere = triage("lame_sheep", {"person_in_danger": True})
    assert [service.code for service in anywhere.emergency_first] == ["ambulance"]


def test_a_vet_cannot_lower_below_a_floor() -> None:
    word = VetWord("Vet One", lower_to=Urgency.SAME_DAY, reason="sounds well")
    assessment = triage("down_cow", {"flat_out": "yes"}, lowered_by=word)
    assert assessment.urgency is Urgency.IMMEDIATE
    lowered = next(reason for reason in assessment.reasons if reason.kind.value == "lowered")
    assert "keeps it at immediate" in lowered.sentence
    assert minutes(assessment.arrive_by, NOON) == 60


def test_a_vets_word_needs_a_name() -> None:
    with pytest.raises(AnswerError) as caught:
        VetWord("  ")
    assert caught.value.field == "vet"
