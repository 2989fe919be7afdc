"""One call in, one assessment out: how urgent, by when, why, what to say, what to bring."""

from collections.abc import Iterator
from datetime import timedelta
from zoneinfo import ZoneInfo

from cases.triage.catalogue import Catalogue, Complaint, catalogue
from cases.triage.classify import Heard, Verdict, applies, classify, hear, lowest_without_base
from cases.triage.clock_words import said
from cases.triage.deadline import Clocks, Deadline, WorkingDay, monday_to_friday, set_deadline
from cases.triage.errors import AnswerError
from cases.triage.flags import FLAG_SENTENCES, FlagNote, emergency_first
from cases.triage.floors import NOTIFIABLE_FLAG, Floor, notifiable, own_floors
from cases.triage.general import FLOOR_QUESTIONS, GENERAL_QUESTIONS, NOTIFIABLE_QUESTION
from cases.triage.questions import Question
from cases.triage.report import Assessment, CallReport, Proposal, Reask, Reason, VetWord
from cases.triage.sentences import class_reasons, deadline_reasons, proposal_sentence
from cases.triage.targets import ArrivalTargets

PERSON_QUESTION = "person_in_danger"


def assess(
    report: CallReport,
    targets: ArrivalTargets,
    *,
    tz: ZoneInfo,
    is_working_day: WorkingDay = monday_to_friday,
    lowered_by: VetWord | None = None,
    complaints: Catalogue | None = None,
    floors: tuple[Floor, ...] | None = None,
) -> Assessment:
    """Return the assessment of one call.

    `lowered_by` is a vet's decision; without one the class only ever rises above the complaint's base class.
    Raises AnswerError naming the field for an unknown complaint, a wrong species or an unreadable answer.
    """
    complaint = (complaints or catalogue())[report.code]
    _check_species(complaint, report.species)
    heard = hear(complaint, report.answers)
    floors = own_floors() if floors is None else floors
    seen = _seen(complaint, heard, lowered_by)
    verdict = classify(complaint, heard, floors, targets.points_to_raise, lowered_by, seen)
    clocks = Clocks(targets, tz, is_working_day)
    word = _word_that_holds(complaint, seen, floors, targets, lowered_by, verdict)
    flags = _flags(complaint, heard, verdict)
    suspected = notifiable(complaint, heard.answers, frozenset(flag.code for flag in flags if flag.question))
    unanswered = tuple(_unanswered(complaint, heard))
    deadline = set_deadline(
        complaint, report, verdict.urgency, clocks, word=word, well=not unanswered, notifiable=suspected
    )
    reasons = (
        *class_reasons(complaint, heard, verdict, lowered_by, targets.points_to_raise),
        *deadline_reasons(complaint, report, deadline, tz, word),
    )
    return _assessment(
        complaint, report, clocks, verdict, deadline, reasons, flags, unanswered, suspected, lowered_by
    )


def _assessment(
    complaint: Complaint,
    report: CallReport,
    clocks: Clocks,
    verdict: Verdict,
    deadline: Deadline,
    reasons: tuple[Reason, ...],
    flags: tuple[FlagNote, ...],
    unanswered: tuple[Question, ...],
    suspected: bool,
    word: VetWord | None,
) -> Assessment:
    return Assessment(
        code=complaint.code,
        trade_name=complaint.trade_name,
        urgency=verdict.urgency,
        base_urgency=complaint.base_class,
        arrive_by=deadline.arrive_by,
        worse_at=deadline.worse_at,
        biology_passed=deadline.biology_passed,
        vet_phone_by=deadline.vet_phone_by,
        visit_wanted=deadline.visit_wanted,
        booked=deadline.booked,
        window=deadline.window,
        vet_decision_wanted=deadline.vet_decision_wanted,
        authority_directs_visit=suspected,
        reasons=reasons,
        flags=flags,
        emergency_first=emergency_first(frozenset(flag.code for flag in flags)),
        points=verdict.total_points,
        proposals=tuple(_proposals(verdict, clocks.targets.points_to_raise)) if word is None else (),
        lowered_by=word.vet if word is not None and word.lower_to is not None else None,
        reask=tuple(_reask(report, clocks, unanswered)),
        not_asked=tuple(question.key for question in FLOOR_QUESTIONS if question.key not in report.answers),
        skills=complaint.skills,
        kit=complaint.extra_kit,
        second_person=complaint.second_person,
        bring_in=complaint.bring_in,
        advice=_advice(complaint, report, deadline, clocks.tz),
        minutes_on_farm_median=complaint.minutes_on_farm_median,
        minutes_on_farm_pessimistic=complaint.minutes_on_farm_pessimistic,
        followup_template=complaint.followup_template,
        source_keys=complaint.source_keys,
    )


def _check_species(complaint: Complaint, species: str | None) -> None:
    if species is not None and species not in complaint.species:
        kinds = ", ".join(complaint.species)
        raise AnswerError(
            "species", f"{complaint.trade_name} is a complaint of {kinds}. Pick another complaint."
        )


def _seen(complaint: Complaint, heard: Heard, word: VetWord | None) -> Heard:
    if word is None or word.answers_seen is None:
        return heard
    return hear(complaint, word.answers_seen)


def _word_that_holds(
    complaint: Complaint,
    seen: Heard,
    floors: tuple[Floor, ...],
    targets: ArrivalTargets,
    word: VetWord | None,
    verdict: Verdict,
) -> VetWord | None:
    """Return the vet's decision unless the call has become more urgent than the vet left it."""
    if word is None:
        return None
    left_at = word.lower_to or classify(complaint, seen, floors, targets.points_to_raise).urgency
    return word if verdict.urgency >= left_at else None


def _flags(complaint: Complaint, heard: Heard, verdict: Verdict) -> tuple[FlagNote, ...]:
    """Return each flag once: those that an answer set first, then those the complaint always carries."""
    questions: dict[str, str | None] = {}
    for firing in verdict.flags:
        questions.setdefault(firing.effect.flag or "", firing.question.key)
    for key, flag in ((PERSON_QUESTION, "ambulance"), (NOTIFIABLE_QUESTION, NOTIFIABLE_FLAG)):
        if heard.answers.get(key) == "yes":
            questions.setdefault(flag, key)
    for flag in complaint.flags:
        questions.setdefault(flag, None)
    return tuple(FlagNote(flag, FLAG_SENTENCES[flag], question) for flag, question in questions.items())


def _unanswered(complaint: Complaint, heard: Heard) -> Iterator[Question]:
    """Yield the questions that could make the call more urgent and have no answer yet."""
    for question in complaint.questions:
        if question.key not in heard.answers and question.can_raise() and applies(question, heard.answers):
            yield question
    yield from (question for question in GENERAL_QUESTIONS if question.key in heard.unknown)


def _reask(report: CallReport, clocks: Clocks, unanswered: tuple[Question, ...]) -> Iterator[Reask]:
    by = report.called_at + timedelta(minutes=clocks.targets.reask_min)
    return (Reask(question.key, question.label, by) for question in unanswered)


def _proposals(verdict: Verdict, points_to_raise: int) -> Iterator[Proposal]:
    """Yield the lowerings that would change something if a vet put a name to them."""
    for firing in verdict.lowers:
        to = lowest_without_base(verdict, firing.urgency, points_to_raise)
        if to > verdict.urgency:
            yield Proposal(to, firing.question.key, proposal_sentence(firing, to))


def _advice(complaint: Complaint, report: CallReport, deadline: Deadline, tz: ZoneInfo) -> str:
    heard_by = said(deadline.vet_phone_by, tz, report.called_at)
    return (
        f"{complaint.phone_advice} Ring straight back if it gets worse,"
        f" or if you have not heard from us by {heard_by}."
    )
