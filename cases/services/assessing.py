"""Asking triage on behalf of a call, and keeping its answer in plain JSON."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import date, datetime
from functools import partial
from typing import Any

from cases.triage.assess import assess
from cases.triage.errors import AnswerError
from cases.triage.report import Assessment, CallReport, VetWord
from cases.triage.targets import ArrivalTargets
from cases.triage.vocabulary import Urgency
from rotas.bank_holidays import bank_holidays
from rotas.errors import BadInput
from rotas.models import Practice


@dataclass(frozen=True)
class CallFacts:
    """What triage needs to know of a call."""

    complaint: str
    species: str
    answers: Mapping[str, Any]
    called_at: datetime
    onset_at: datetime | None


def assessment_of(practice: Practice, facts: CallFacts, word: VetWord | None = None) -> Assessment:
    """Return what triage makes of the call. What it cannot use is refused with the field's name."""
    try:
        report = CallReport(
            code=facts.complaint,
            called_at=facts.called_at,
            answers=facts.answers,
            onset_at=facts.onset_at,
            species=facts.species or None,
        )
        return assess(
            report,
            targets_of(practice),
            tz=practice.tz,
            lowered_by=word,
            is_working_day=partial(is_working_day, practice.country, practice.country_part),
        )
    except AnswerError as error:
        raise BadInput(error.sentence, field=error.field, problem=error.sentence) from error


def targets_of(practice: Practice) -> ArrivalTargets:
    """Return the practice's own targets; what it has no setting for is the core's default [cp]."""
    return ArrivalTargets(
        immediate_min=practice.arrive_immediate_min,
        urgent_min=practice.arrive_urgent_min,
        same_day_min=practice.arrive_same_day_min,
        advice_phone_min=practice.advice_day_min,
        night_from=practice.night_from,
        night_until=practice.day_from,
    )


def is_working_day(country: str, part: str, day: date) -> bool:
    """Say whether the practice's day team works: Monday to Friday, bank holidays left out."""
    return day.weekday() < 5 and day not in bank_holidays(country, part, day.year)


def as_json(assessment: Assessment) -> dict[str, Any]:
    """Return what is kept beside the call: reasons, flags, advice, skills and kit in plain values."""
    return {
        "trade_name": assessment.trade_name,
        "reasons": [reason.as_dict() for reason in assessment.reasons],
        "flags": [asdict(flag) for flag in assessment.flags],
        "emergency_first": [asdict(service) for service in assessment.emergency_first],
        "points": assessment.points,
        "proposals": [asdict(proposal) | {"to": proposal.to.value} for proposal in assessment.proposals],
        "reask": [asdict(item) | {"by": item.by.isoformat()} for item in assessment.reask],
        "not_asked": list(assessment.not_asked),
        "skills": [{"any_of": list(need.any_of), "preferred": need.preferred} for need in assessment.skills],
        "kit": list(assessment.kit),
        "second_person": assessment.second_person,
        "bring_in": assessment.bring_in,
        "advice": assessment.advice,
        "followup_template": assessment.followup_template,
        "booked": assessment.booked,
        "window": [moment.isoformat() for moment in assessment.window] if assessment.window else None,
        "vet_decision_wanted": assessment.vet_decision_wanted,
        "authority_directs_visit": assessment.authority_directs_visit,
        "lowered_by": assessment.lowered_by,
        "source_keys": list(assessment.source_keys),
    }


def columns_of(assessment: Assessment) -> dict[str, Any]:
    """Return the columns of a call that triage decides."""
    return {
        "urgency": assessment.urgency.value,
        "base_urgency": assessment.base_urgency.value,
        "arrive_by": assessment.arrive_by,
        "worse_at": assessment.worse_at,
        "biology_passed": assessment.biology_passed,
        "vet_phone_by": assessment.vet_phone_by,
        "visit_wanted": assessment.visit_wanted,
        "minutes_median": assessment.minutes_on_farm_median,
        "minutes_pessimistic": assessment.minutes_on_farm_pessimistic,
        "assessment": as_json(assessment),
    }


def word_as_json(word: VetWord, vet_id: int, at: datetime) -> dict[str, Any]:
    """Return a vet's decision as it is kept beside the call, so that it is heard again next time."""
    return {
        "vet": vet_id,
        "name": word.vet,
        "lower_to": word.lower_to.value if word.lower_to else None,
        "till_morning": word.till_morning,
        "reason": word.reason,
        "answers_seen": dict(word.answers_seen or {}),
        "at": at.isoformat(),
    }


def word_from_json(kept: Mapping[str, Any] | None) -> VetWord | None:
    """Return the vet's decision that is kept beside a call, if there is one."""
    if not kept:
        return None
    return VetWord(
        vet=kept["name"],
        lower_to=Urgency(kept["lower_to"]) if kept["lower_to"] else None,
        till_morning=kept["till_morning"],
        reason=kept["reason"],
        answers_seen=kept["answers_seen"],
    )
