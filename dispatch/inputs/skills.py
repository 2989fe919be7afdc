"""Who does what, and whom they can ring for it."""

from collections import Counter

from cases.triage import catalogue
from dispatch.planner.problem import Level
from dispatch.situation.load import Situation

ANY_FARM_VET = "first_opinion_farm"
FEW = 2
"""A skill that so many of the practice do alone is scarce, unless that is everybody [cp]."""


def levels_of(situation: Situation, vet_id: int) -> dict[str, Level]:
    """Return the vet's skills; every vet of the practice sees farm animals unless their row says no."""
    rows = [row for row in situation.skills if row.vet_id == vet_id]
    held = {ANY_FARM_VET: Level.SOLO} if all(row.skill != ANY_FARM_VET for row in rows) else {}
    return held | {row.skill: Level(row.level) for row in rows if row.level in set(Level)}


def phone_support(situation: Situation) -> dict[str, str]:
    """Return, for each skill, the name of a vet on duty who does it alone and may be rung."""
    names: dict[str, str] = {}
    for vet in situation.vets:
        if not situation.on_duty(vet.pk) or vet.is_stood_down(situation.now):
            continue
        for skill, level in levels_of(situation, vet.pk).items():
            if level == Level.SOLO:
                names.setdefault(skill, vet.name)
    return names


def scarce_skills(situation: Situation) -> frozenset[str]:
    """Return skills that some complaint needs and only one or two of the practice do alone."""
    needed = {
        skill
        for complaint in catalogue()
        for need in complaint.skills
        if not need.preferred
        for skill in need.any_of
    }
    alone = Counter(
        skill
        for vet_id in situation.crew
        for skill, level in levels_of(situation, vet_id).items()
        if level == Level.SOLO and skill in needed
    )
    return frozenset(skill for skill, count in alone.items() if count <= FEW and count < len(situation.crew))
