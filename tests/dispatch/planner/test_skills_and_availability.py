"""Who may go whatever the hour: skills, levels, availability, restrictions, and what is merely preferred."""

import pytest

from dispatch.planner.problem import KitItem, Level, Vet
from dispatch.planner.verdicts import verdict
from tests.dispatch.planner.small import call, goes, planned, problem, vet

CAESAR = (frozenset({"caesar_cattle"}),)


def able(**levels: Level) -> Vet:
    return vet(skills=levels)


@pytest.mark.parametrize(
    ("level", "support", "sent"),
    [
        (Level.SOLO, {}, True),
        (Level.WITH_PHONE_SUPPORT, {"caesar_cattle": "the partner"}, True),
        (Level.WITH_PHONE_SUPPORT, {"calving": "the partner"}, False),
        (Level.WITH_SECOND_PRESENT, {"caesar_cattle": "the partner"}, False),
    ],
)
def test_a_vet_goes_alone_at_solo_or_with_support_that_can_be_reached(
    level: Level, support: dict[str, str], sent: bool
) -> None:
    plan = planned([call(skills=CAESAR)], [able(caesar_cattle=level)], phone_support=support)
    assert (goes(plan, "c1") == ["a"]) is sent


def test_every_group_needs_one_of_its_alternatives() -> None:
    job = call(skills=(frozenset({"lambing", "calving"}), frozenset({"epidural"})))
    assert goes(planned([job], [able(calving=Level.SOLO, epidural=Level.SOLO)]), "c1") == ["a"]
    assert goes(planned([job], [able(calving=Level.SOLO, lambing=Level.SOLO)]), "c1") == []


def test_a_preferred_skill_is_a_wish_with_a_price_and_not_a_need() -> None:
    job = call(skills=(), preferred=frozenset({"equine"}))
    assert planned([job], [able(calving=Level.SOLO)]).costs["not_preferred_skill"] == 500
    assert "not_preferred_skill" not in planned([job], [able(equine=Level.SOLO)]).costs


def test_telephone_support_has_a_price_so_that_the_skilled_vet_goes_first() -> None:
    support = {"caesar_cattle": "the partner"}
    junior, senior = (
        able(caesar_cattle=Level.WITH_PHONE_SUPPORT),
        vet("b", "home b", skills={"caesar_cattle": "solo"}),
    )
    plan = planned([call(skills=CAESAR)], [junior, senior], phone_support=support)
    assert goes(plan, "c1") == ["b"]


BIRTH = frozenset({"birth"})
SECOND = {"skills": {"caesar_cattle": Level.WITH_SECOND_PRESENT}}
PHONE = {"skills": {"caesar_cattle": Level.WITH_PHONE_SUPPORT}}
DECLINED = "Declined at 21:50: too far."
NOBODY_REACHED = "Does caesar cattle only with telephone support, and nobody can be reached for it."
KIT = {"kit": frozenset({"surgical_kit_cattle"})}


@pytest.mark.parametrize(
    ("changes", "job_changes", "code", "sentence"),
    [
        ({"stood_down": "Stood down until 08:00."}, {}, "stood_down", "Stood down until 08:00."),
        ({"unavailable_for": BIRTH}, {"flags": BIRTH}, "unavailable", "Not available for this kind of work."),
        ({}, {"excluded_vets": {"a": DECLINED}}, "excluded", DECLINED),
        ({}, {"skills": CAESAR}, "skill", "Not skilled for caesar cattle."),
        (SECOND, {"skills": CAESAR}, "skill", "Does caesar cattle only with a second vet present."),
        (PHONE, {"skills": CAESAR}, "skill", NOBODY_REACHED),
        (
            {},
            {"skills": (frozenset({"lambing", "calving"}),)},
            "skill",
            "Not skilled for calving or lambing.",
        ),
        ({}, KIT, "kit", "No surgical kit cattle in the car or at the practice."),
    ],
)
def test_the_rule_that_keeps_a_vet_away_is_kept_and_said(
    changes: dict[str, object], job_changes: dict[str, object], code: str, sentence: str
) -> None:
    job, one = call(**job_changes), vet(**changes)
    assert goes(planned([job], [one]), "c1") == []
    said = verdict(problem([job], [one]), one, job)
    assert not said.can_go
    assert [(each.code, each.sentence) for each in said.refusals] == [(code, sentence)]


def test_no_reason_is_given_for_being_unavailable() -> None:
    one = vet(unavailable_for=frozenset({"birth"}))
    said = verdict(problem([call(flags=frozenset({"birth"}))], [one]), one, call(flags=frozenset({"birth"})))
    assert "birth" not in said.sentence


def test_other_flags_keep_nobody_away() -> None:
    job = call(flags=frozenset({"kick_crush"}))
    assert goes(planned([job], [vet(unavailable_for=frozenset({"birth"}))]), "c1") == ["a"]


def test_kit_used_up_serves_one_job_and_kit_that_stays_serves_two() -> None:
    kit = frozenset({"calving_jack"})
    car = (KitItem("calving_jack"),)
    stays = [call("c1", kit=kit), call("c2", "east", kit=kit)]
    spent = [call("c1", kit=kit, kit_used=kit), call("c2", "east", kit=kit, kit_used=kit)]
    assert len(planned(stays, [vet(kit=car)]).unassigned) == 0
    assert len(planned(spent, [vet(kit=car)]).unassigned) == 1
    assert len(planned(spent, [vet(kit=car * 2)]).unassigned) == 0
