"""Who does what, and whom they can ring for it."""

from dispatch.planner.problem import Level
from dispatch.situation.load import Situation

ANY_FARM_VET = "first_opinion_farm"


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
