"""Reading what was answered. A page sends text, a program sends JSON; both end as one canonical answer."""

from collections.abc import Callable, Iterable, Mapping
from decimal import Decimal, InvalidOperation

from cases.triage.errors import AnswerError
from cases.triage.questions import Answer, Kind, Question

UNKNOWN = "unknown"
TEXT_LIMIT = 500
# Lowest and highest number that can be meant; beyond them the unit was mistaken [cp].
RANGES = {
    Kind.COUNT: (0, 100_000),
    Kind.MINUTES: (0, 20_160),
    Kind.HOURS: (0, 2_160),
    Kind.DAYS: (0, 4_000),
    Kind.TEMPERATURE: (20, 45),
    Kind.BEATS: (0, 400),
    Kind.MILLIMETRES: (0, 50),
    Kind.CENTIMETRES: (0, 300),
}
_YES_NO = {"yes": "yes", "no": "no", "true": "yes", "false": "no"}


def read_answers(questions: Iterable[Question], given: object, asking: str) -> dict[str, Answer]:
    """Return the canonical answer of every question that has one. Unknown and blank ones are left out.

    `asking` is the complaint's trade name, for the sentence that refuses a stray key.
    """
    if not isinstance(given, Mapping):
        raise AnswerError("answers", "Answers must be a set of question keys, each with its answer.")
    by_key = {question.key: question for question in questions}
    answers: dict[str, Answer] = {}
    for key, raw in given.items():
        if key not in by_key:
            raise AnswerError(str(key)[:60], _stray(key, asking, by_key))
        answer = read_answer(by_key[key], raw)
        if answer is not None:
            answers[key] = answer
    return answers


def said_unknown(given: Mapping[str, object], key: str) -> bool:
    """Whether somebody was asked and did not know; a blank was not asked."""
    raw = given.get(key)
    return isinstance(raw, str) and raw.strip().lower() == UNKNOWN


def read_answer(question: Question, raw: object) -> Answer | None:
    """Return the canonical answer, or None when it is not known."""
    if raw is None or (isinstance(raw, str) and raw.strip().lower() in ("", UNKNOWN)):
        return None
    return _READERS.get(question.kind, _read_number)(question, raw)


def accepts(question: Question) -> str:
    """What the question takes, as the end of a sentence."""
    if question.kind is Kind.YES_NO:
        return "yes, no or unknown"
    if question.kind is Kind.CHOICE:
        return f"{', '.join(question.choices)} or unknown"
    if question.kind is Kind.TEXT:
        return f"up to {TEXT_LIMIT} characters of text"
    low, high = RANGES[question.kind]
    number = "a whole number" if question.kind is Kind.COUNT else "a number"
    unit = f" ({question.unit})" if question.unit else ""
    return f"{number} from {low} to {high}{unit}, or unknown"


def _refuse(question: Question) -> AnswerError:
    return AnswerError(question.key, f"“{question.label}” takes {accepts(question)}.")


def _read_yes_no(question: Question, raw: object) -> Answer:
    if isinstance(raw, bool):
        return "yes" if raw else "no"
    if not isinstance(raw, str) or raw.strip().lower() not in _YES_NO:
        raise _refuse(question)
    return _YES_NO[raw.strip().lower()]


def _read_choice(question: Question, raw: object) -> Answer:
    if not isinstance(raw, str) or raw.strip().lower() not in question.choices:
        raise _refuse(question)
    return raw.strip().lower()


def _read_text(question: Question, raw: object) -> Answer:
    if not isinstance(raw, str) or len(raw) > TEXT_LIMIT or "\x00" in raw:
        raise _refuse(question)
    return raw.strip()


def _read_number(question: Question, raw: object) -> Answer:
    number = _as_decimal(raw)
    low, high = RANGES[question.kind]
    if number is None or not low <= number <= high:
        raise _refuse(question)
    if question.kind is Kind.COUNT and number != number.to_integral_value():
        raise _refuse(question)
    return number


def _as_decimal(raw: object) -> Decimal | None:
    """Return a plain finite number, or None. Booleans and very long texts are not numbers here."""
    if isinstance(raw, bool) or not isinstance(raw, (int, float, str, Decimal)):
        return None
    if (isinstance(raw, str) and len(raw) > 20) or (isinstance(raw, int) and abs(raw) > 10**9):
        return None
    try:
        number = Decimal(str(raw).strip())
    except InvalidOperation:
        return None
    return number if number.is_finite() else None


def _stray(key: object, asking: str, by_key: Mapping[str, Question]) -> str:
    return f"{str(key)[:60]!r} is not a question of {asking}. It asks: {', '.join(by_key)}."


_READERS: dict[Kind, Callable[[Question, object], Answer]] = {
    Kind.YES_NO: _read_yes_no,
    Kind.CHOICE: _read_choice,
    Kind.TEXT: _read_text,
}
