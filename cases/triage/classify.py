"""Which class a call gets: the most severe of base, answers and floors, then soft points.

Only a vet lowers it.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from cases.triage.answers import read_answers, said_unknown
from cases.triage.catalogue import Complaint
from cases.triage.floors import Floor, floors_met
from cases.triage.general import GENERAL_QUESTIONS, SOFT_MODIFIERS, SoftModifier
from cases.triage.questions import Answer, Effect, EffectKind, Question
from cases.triage.report import VetWord
from cases.triage.vocabulary import Urgency


@dataclass(frozen=True)
class Heard:
    """The answers of one call in canonical form, and the questions that count as the worse answer."""

    answers: Mapping[str, Answer]
    unknown: frozenset[str]

    def same_as(self, other: "Heard", key: str) -> bool:
        """Whether a question stands exactly as it did then, known or not."""
        return self.answers.get(key) == other.answers.get(key) and (key in self.unknown) == (
            key in other.unknown
        )


@dataclass(frozen=True)
class Firing:
    """One effect that an answer set off; `answer` is None when nobody knows and the worst was taken."""

    question: Question
    effect: Effect
    answer: Answer | None

    @property
    def urgency(self) -> Urgency:
        return self.effect.urgency or Urgency.ADVICE


@dataclass(frozen=True)
class PointGiven:
    question: Question
    points: int


@dataclass(frozen=True)
class Verdict:
    """The class and everything that led to it. `before_points` is the class that the soft points met."""

    urgency: Urgency
    before_points: Urgency
    raises: tuple[Firing, ...]
    lowers: tuple[Firing, ...]
    flags: tuple[Firing, ...]
    floors: tuple[Floor, ...]
    points: tuple[PointGiven, ...]

    @property
    def total_points(self) -> int:
        return sum(given.points for given in self.points)


def hear(complaint: Complaint, given: Mapping[str, object]) -> Heard:
    """Read every answer of the call. Raises AnswerError naming the question that cannot be read."""
    answers = read_answers(complaint.questions + GENERAL_QUESTIONS, given, complaint.trade_name)
    own = {q.key for q in complaint.questions if q.topic and q.key not in answers and applies(q, answers)}
    general = {q.key for q in GENERAL_QUESTIONS if q.topic and said_unknown(given, q.key)}
    return Heard(answers, frozenset(own | general))


def applies(question: Question, answers: Mapping[str, Answer]) -> bool:
    """Whether the question still has to be asked, given what is known."""
    if question.alternative_to is not None and question.alternative_to in answers:
        return False
    if question.asked_if is None:
        return True
    return answers.get(question.asked_if.question, question.asked_if.answer) == question.asked_if.answer


def classify(
    complaint: Complaint,
    heard: Heard,
    floors: tuple[Floor, ...],
    points_to_raise: int,
    word: VetWord | None = None,
    seen: Heard | None = None,
) -> Verdict:
    """Return the class.

    With a vet's lowering, answers that stand as in `seen` are set aside; floors never are.
    """
    lowered_to = word.lower_to if word is not None else None
    settled = seen if lowered_to is not None else None
    firings = [f for f in _firings(complaint, heard) if not _settled(f.question.key, heard, settled)]
    raises = [f for f in firings if f.effect.kind is EffectKind.RAISE]
    met = floors_met(complaint, heard.answers, heard.unknown, floors)
    start = lowered_to or complaint.base_class
    before = _most_severe(start, raises, met)
    points = [*_own_points(firings), *_soft_points(heard, settled, start, raises, met, firings)]
    total = sum(given.points for given in points)
    return Verdict(
        urgency=before.raised() if total >= points_to_raise else before,
        before_points=before,
        raises=tuple(raises),
        lowers=tuple(f for f in firings if f.effect.kind is EffectKind.LOWER),
        flags=tuple(f for f in _firings(complaint, heard) if f.effect.kind is EffectKind.FLAG),
        floors=tuple(met),
        points=tuple(points),
    )


def lowest_without_base(verdict: Verdict, to: Urgency, points_to_raise: int) -> Urgency:
    """Return the class that a lowering to `to` would leave, answers, floors and points still counting."""
    least = _most_severe(to, verdict.raises, verdict.floors)
    return least.raised() if verdict.total_points >= points_to_raise else least


def _firings(complaint: Complaint, heard: Heard) -> Iterator[Firing]:
    for question in complaint.questions:
        answer = heard.answers.get(question.key)
        if answer is not None:
            yield from (Firing(question, effect, answer) for effect in question.effects_of(answer))
        elif question.key in heard.unknown:
            yield from (Firing(question, effect, None) for effect in question.worst_effects())


def _settled(key: str, heard: Heard, seen: Heard | None) -> bool:
    return seen is not None and heard.same_as(seen, key)


def _most_severe(start: Urgency, raises: Sequence[Firing], met: Sequence[Floor]) -> Urgency:
    return min([start, *(f.urgency for f in raises), *(floor.at_least for floor in met)])


def _own_points(firings: list[Firing]) -> list[PointGiven]:
    return [PointGiven(f.question, 1) for f in firings if f.effect.kind is EffectKind.POINT]


def _soft_points(
    heard: Heard,
    settled: Heard | None,
    start: Urgency,
    raises: list[Firing],
    met: list[Floor],
    firings: list[Firing],
) -> Iterator[PointGiven]:
    before = _most_severe(start, raises, met)
    for modifier in SOFT_MODIFIERS:
        key = modifier.question.key
        points = modifier.points(heard.answers.get(key))
        if not points or _settled(key, heard, settled):
            continue
        if not _already_used(modifier, start, before, raises, met, firings):
            yield PointGiven(modifier.question, points)


def _already_used(
    modifier: SoftModifier,
    start: Urgency,
    before: Urgency,
    raises: list[Firing],
    met: list[Floor],
    firings: list[Firing],
) -> bool:
    """Whether the same fact already gave a point, or the class would be lower without it.

    A fact that changed nothing is not used up: else a worse answer could cost a point and lower the call.
    """
    same = modifier.same_fact_as
    if any(f.question.key in same and f.effect.kind is EffectKind.POINT for f in firings):
        return True
    others = [f for f in raises if f.question.key not in same]
    other_floors = [floor for floor in met if floor.question not in same]
    return _most_severe(start, others, other_floors) > before
