"""Which skills a job asks for: `a;b` both, `a/b` either, `~x` preferred but not needed."""

from collections.abc import Collection
from dataclasses import dataclass

from cases.triage.vocabulary import SKILLS


@dataclass(frozen=True)
class SkillNeed:
    """Any one of `any_of` meets the need. A preferred need never bars a vet."""

    any_of: tuple[str, ...]
    preferred: bool = False

    def met_by(self, skills: Collection[str]) -> bool:
        return any(skill in skills for skill in self.any_of)

    def __str__(self) -> str:
        words = " or ".join(skill.replace("_", " ") for skill in self.any_of)
        return f"{words} (preferred)" if self.preferred else words


def parse_skills(text: str) -> tuple[SkillNeed, ...]:
    """Read the skills column. Raises ValueError naming the skill that nobody knows."""
    return tuple(_parse_need(part.strip()) for part in text.split(";"))


def _parse_need(part: str) -> SkillNeed:
    preferred = part.startswith("~")
    any_of = tuple(part.removeprefix("~").split("/"))
    for skill in any_of:
        if skill not in SKILLS:
            raise ValueError(f"{skill!r} is not a skill")
    return SkillNeed(any_of, preferred)
