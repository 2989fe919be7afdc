"""Triage: complaint catalogue and answers in; urgency, arrive-by time and reasons out.

Pure: no Django, no clock, no database. Every arrival target is a setting, for nobody publishes one [cp].
"""

from cases.triage.assess import assess
from cases.triage.catalogue import Complaint, catalogue
from cases.triage.errors import AnswerError, CatalogueError, UnknownComplaint
from cases.triage.flags import GENERAL_CAUTIONS
from cases.triage.general import GENERAL_QUESTIONS
from cases.triage.questions import Kind, Question
from cases.triage.report import Assessment, CallReport, Proposal, Reason, VetWord
from cases.triage.search import search
from cases.triage.skills import SkillNeed
from cases.triage.targets import ArrivalTargets
from cases.triage.vocabulary import BRING_IN_WORDS, SECOND_PERSON_WORDS, SKILLS, SPECIES, Urgency


def questions_for(code: str) -> tuple[Question, ...]:
    """Return the complaint's own questions, in the order to ask them. Raises UnknownComplaint."""
    return catalogue()[code].questions


__all__ = [
    "BRING_IN_WORDS",
    "GENERAL_CAUTIONS",
    "GENERAL_QUESTIONS",
    "SECOND_PERSON_WORDS",
    "SKILLS",
    "SPECIES",
    "AnswerError",
    "ArrivalTargets",
    "Assessment",
    "CallReport",
    "CatalogueError",
    "Complaint",
    "Kind",
    "Proposal",
    "Question",
    "Reason",
    "SkillNeed",
    "UnknownComplaint",
    "Urgency",
    "VetWord",
    "assess",
    "catalogue",
    "questions_for",
    "search",
]
