"""Every reason as a sentence that a receptionist can read out."""

from collections.abc import Iterator
from decimal import Decimal
from zoneinfo import ZoneInfo

from cases.triage.catalogue import Complaint
from cases.triage.classify import Firing, Heard, Verdict
from cases.triage.clock_words import said
from cases.triage.deadline import Deadline
from cases.triage.floors import Floor
from cases.triage.general import GENERAL_QUESTIONS
from cases.triage.questions import Question
from cases.triage.report import CallReport, Reason, ReasonKind, VetWord
from cases.triage.vocabulary import Urgency

COMMON_PRACTICE = ("cp",)


def class_reasons(
    complaint: Complaint, heard: Heard, verdict: Verdict, word: VetWord | None, points_to_raise: int
) -> Iterator[Reason]:
    """Yield why the call has its class, the strongest kind first."""
    yield from (_floor(complaint, heard, floor) for floor in verdict.floors)
    by_floor = {(floor.question, floor.at_least) for floor in verdict.floors}
    for firing in sorted(verdict.raises, key=lambda f: f.urgency):
        told = (firing.question.key, firing.urgency) in by_floor
        if firing.urgency <= complaint.base_class and not told:
            yield _answer(complaint, firing)
    yield _base(complaint)
    yield from _points(verdict, points_to_raise)
    if word is not None and word.lower_to is not None:
        yield _lowered(word, word.lower_to, verdict)


def proposal_sentence(firing: Firing, to: Urgency) -> str:
    return f"{_fact(firing)} A vet may lower it to {to.word}, by name."


def deadline_reasons(
    complaint: Complaint, report: CallReport, deadline: Deadline, tz: ZoneInfo, word: VetWord | None
) -> Iterator[Reason]:
    """Yield why the times are what they are."""
    sentence = _arrival_sentence(complaint, report, deadline, tz, word)
    if sentence:
        yield Reason(ReasonKind.DEADLINE, sentence, source_keys=complaint.source_keys)
    if deadline.biology_passed and deadline.worse_at is not None:
        when = said(deadline.worse_at, tz, report.called_at)
        yield Reason(
            ReasonKind.DEADLINE,
            f"The outcome gets clearly worse from {when}, too soon to be met ({complaint.worse_after_note})."
            " The call keeps its class target; a vet talks prognosis with the caller on the way.",
            source_keys=complaint.source_keys,
        )
    if deadline.vet_decision_wanted:
        yield Reason(
            ReasonKind.DEADLINE,
            "Taken at night: a vet decides by telephone, now or first job in the morning.",
            source_keys=COMMON_PRACTICE,
        )
    if report.onset_at is None and deadline.target_at is not None and complaint.worse_after_min is not None:
        yield Reason(
            ReasonKind.DEADLINE,
            "Nobody knows yet when it began: ask when it was last seen well, the time may have to move up.",
            source_keys=COMMON_PRACTICE,
        )


def _arrival_sentence(
    complaint: Complaint, report: CallReport, deadline: Deadline, tz: ZoneInfo, word: VetWord | None
) -> str:
    if not deadline.visit_wanted:
        return "A telephone call from a vet is the service; nobody drives out for it as answered."
    if deadline.window and deadline.booked:
        start, end = (said(instant, tz, report.called_at) for instant in deadline.window)
        return f"The window is fixed: from {start} until {end}."
    if deadline.arrive_by is None:
        by_law = " The law sets its last day." if complaint.due_by_law else ""
        return f"Booked work: its time is the one in the diary.{by_law}"
    when = said(deadline.arrive_by, tz, report.called_at)
    if deadline.named_by_vet and word is not None:
        return f"{word.vet} named the time: there by {when}."
    if deadline.arrive_by == deadline.worse_at:
        return f"There by {when}: from then on the outcome gets clearly worse ({complaint.worse_after_note})."
    minutes = int((deadline.arrive_by - report.called_at).total_seconds()) // 60
    if minutes > 24 * 60:
        return f"There by {when}, the practice's target."
    return f"There by {when}, the practice's target: {minutes} minutes after the call."


def _base(complaint: Complaint) -> Reason:
    base = complaint.base_class
    sentence = f"{complaint.trade_name} starts as {base.word}: {base.meaning}."
    return Reason(ReasonKind.BASE, sentence, urgency=base, source_keys=complaint.source_keys)


def _fact(firing: Firing) -> str:
    """The answer, and where a number decided, the limit it met."""
    if firing.answer is None:
        return f"Not known: {firing.question.label}. Until somebody knows, it counts as the worse answer."
    unit = (
        f" {firing.question.unit}"
        if firing.question.unit and firing.question.unit not in firing.question.label
        else ""
    )
    limit = f" (limit: {firing.effect.condition})" if isinstance(firing.answer, Decimal) else ""
    return f"{firing.question.label.rstrip('?')}: {firing.answer}{unit}{limit}."


def _answer(complaint: Complaint, firing: Firing) -> Reason:
    kind = ReasonKind.UNKNOWN if firing.answer is None else ReasonKind.ANSWER
    sentence = f"{_fact(firing)} That makes it {firing.urgency.word}."
    return Reason(kind, sentence, firing.question.key, firing.urgency, complaint.source_keys)


def _floor(complaint: Complaint, heard: Heard, floor: Floor) -> Reason:
    question = _asked(complaint, floor.question)
    answer = heard.answers.get(floor.question or "")
    kind, sentence = ReasonKind.FLOOR, f"{floor.sentence} Never below {floor.at_least.word}."
    if question is not None and answer is None:
        kind = ReasonKind.UNKNOWN
        sentence = (
            f"Not known: {question.label.rstrip('?')}. Until somebody knows, it counts as the worse answer:"
            f" never below {floor.at_least.word}."
        )
    elif question is not None:
        sentence += f" ({question.label.rstrip('?')}: {answer}.)"
    return Reason(kind, sentence, floor.question, floor.at_least, floor.source_keys)


def _asked(complaint: Complaint, key: str | None) -> Question | None:
    asked = (*complaint.questions, *GENERAL_QUESTIONS)
    return next((question for question in asked if question.key == key), None)


def _points(verdict: Verdict, points_to_raise: int) -> Iterator[Reason]:
    for given in verdict.points:
        points = "1 soft point" if given.points == 1 else f"{given.points} soft points"
        sentence = f"{given.question.label.rstrip('?')}: {points}."
        yield Reason(ReasonKind.POINT, sentence, given.question.key, source_keys=COMMON_PRACTICE)
    if verdict.total_points >= points_to_raise and verdict.urgency is not verdict.before_points:
        sentence = f"{verdict.total_points} soft points raise it one class, to {verdict.urgency.word}."
        yield Reason(ReasonKind.POINT, sentence, urgency=verdict.urgency, source_keys=COMMON_PRACTICE)


def _lowered(word: VetWord, to: Urgency, verdict: Verdict) -> Reason:
    why = f": {word.reason.strip().rstrip('.')}" if word.reason.strip() else ""
    sentence = f"{word.vet} set it to {to.word}{why}."
    if verdict.urgency < to:
        sentence += (
            f" What is known now keeps it at {verdict.urgency.word}. Correct any answer that was wrong."
        )
    return Reason(ReasonKind.LOWERED, sentence, urgency=to, source_keys=COMMON_PRACTICE)
