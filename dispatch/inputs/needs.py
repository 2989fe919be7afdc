"""What a job asks for, read from a call's assessment or a booked visit's row of the catalogue."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from cases.kit import spent_kit
from cases.models import BookedVisit, Call
from cases.triage import SkillNeed, catalogue

IN_EVERY_CAR = "base_car"


@dataclass(frozen=True)
class Needs:
    """Skill groups (any one of each), wishes, kit, what of it is used up, and what may bar a vet."""

    name: str
    skills: tuple[frozenset[str], ...] = ()
    preferred: frozenset[str] = frozenset()
    kit: frozenset[str] = frozenset()
    spent: frozenset[str] = frozenset()
    flags: frozenset[str] = frozenset()
    may_bring_in: bool = False

    @property
    def barred_by(self) -> frozenset[str]:
        """Everything that a vet may be "not available for": skills asked for, complaint, flags."""
        return self.flags.union(*self.skills)


def needs_of_call(call: Call) -> Needs:
    """Read the assessment that is kept with the call."""
    kept: Mapping[str, Any] = call.assessment
    skills = [
        SkillNeed(tuple(need["any_of"]), need.get("preferred", False)) for need in kept.get("skills", ())
    ]
    return Needs(
        name=complaint_name(call),
        skills=_groups(skills),
        preferred=_wishes(skills),
        kit=_kit(kept.get("kit", ())),
        spent=spent_kit(kept.get("kit", ()), kept.get("skills", ())),
        flags=frozenset({call.complaint, *codes(kept.get("flags", ()))}),
        may_bring_in=kept.get("bring_in") in ("yes", "yes_if_small"),
    )


def needs_of_booked(booked: BookedVisit) -> Needs:
    """Read the catalogue; a complaint that is no longer in it asks for any farm vet."""
    if booked.complaint not in catalogue():
        return Needs(booked.complaint.replace("_", " "), (frozenset({"first_opinion_farm"}),))
    row = catalogue()[booked.complaint]
    return Needs(
        name=row.trade_name,
        skills=_groups(row.skills),
        preferred=_wishes(row.skills),
        kit=_kit(row.extra_kit),
        spent=spent_kit(row.extra_kit, [{"any_of": n.any_of, "preferred": n.preferred} for n in row.skills]),
        flags=frozenset({row.code, *row.flags}),
    )


def needs_of(job: Call | BookedVisit) -> Needs:
    """Read either."""
    return needs_of_call(job) if isinstance(job, Call) else needs_of_booked(job)


def complaint_name(row: Call | BookedVisit) -> str:
    """Return the trade's name of the complaint."""
    if row.complaint in catalogue():
        return catalogue()[row.complaint].trade_name
    return row.complaint.replace("_", " ")


def codes(items: Iterable[Any]) -> list[str]:
    """Return the codes of a kept list, whose items are codes or objects with a code."""
    return [item["code"] if isinstance(item, Mapping) else str(item) for item in items]


def _groups(needs: Iterable[SkillNeed]) -> tuple[frozenset[str], ...]:
    return tuple(frozenset(need.any_of) for need in needs if not need.preferred)


def _wishes(needs: Iterable[SkillNeed]) -> frozenset[str]:
    return frozenset(skill for need in needs if need.preferred for skill in need.any_of)


def _kit(kit: Iterable[str]) -> frozenset[str]:
    return frozenset(kit) - {IN_EVERY_CAR}
