"""Questions of the complaint table, what answers they take, and what an answer does.

One question reads `key[type] label => effect,effect`; an effect is `condition:outcome`, or `info` alone.
Conditions: `yes`, `no`, a word, or a comparison with a number. Outcomes: a class (raises, never lowers),
`lower:class` (only with a vet's name), `+1` (a soft point), `flag:name`.
"""

import enum
import operator
import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from decimal import Decimal

from cases.triage.flags import FLAG_SENTENCES
from cases.triage.vocabulary import Urgency

Answer = str | Decimal  # "yes" and "no", a choice or free text; or a number in the question's unit


class Kind(enum.Enum):
    """What sort of answer a question takes; the value is the table's suffix."""

    YES_NO = "yn"
    COUNT = "n_count"
    MINUTES = "n_min"
    HOURS = "n_h"
    DAYS = "n_day"
    TEMPERATURE = "n_temp"
    BEATS = "n_bpm"
    MILLIMETRES = "n_mm"
    CENTIMETRES = "n_cm"
    TEXT = "text"
    CHOICE = "choice"


class Topic(enum.Enum):
    """Where not knowing counts as the worse answer until somebody knows."""

    BREATHING = "breathing"
    BLEEDING = "bleeding"
    BIRTH = "birth"
    DOWN = "down"


class EffectKind(enum.Enum):
    RAISE = "raise"
    LOWER = "lower"
    POINT = "point"
    FLAG = "flag"


UNITS = {
    Kind.MINUTES: "min",
    Kind.HOURS: "h",
    Kind.DAYS: "days",
    Kind.TEMPERATURE: "C",
    Kind.BEATS: "beats a minute",
    Kind.MILLIMETRES: "mm",
    Kind.CENTIMETRES: "cm",
}
COMPARISONS: dict[str, Callable[[Decimal, Decimal], bool]] = {
    ">=": operator.ge,
    "<=": operator.le,
    "<": operator.lt,
    ">": operator.gt,
}
COMPARISON_WORDS = {">=": "{} or more", "<=": "{} or less", "<": "under {}", ">": "over {}"}

QUESTION_PATTERN = re.compile(
    r"(?P<key>[a-z][a-z0-9_]*)\[(?P<kind>[a-z_]+)\] (?P<label>.+?) => (?P<effects>.+)"
)
COMPARISON_PATTERN = re.compile(r"(>=|<=|<|>)(\d+(?:\.\d+)?)")
WORD_PATTERN = re.compile(r"[a-z][a-z_]*")


@dataclass(frozen=True)
class Condition:
    """`sign` is "=" for words, otherwise a comparison with a number."""

    sign: str
    value: Answer

    def holds(self, answer: Answer) -> bool:
        if self.sign == "=":
            return answer == self.value
        return (
            isinstance(answer, Decimal)
            and isinstance(self.value, Decimal)
            and COMPARISONS[self.sign](answer, self.value)
        )

    def __str__(self) -> str:
        return COMPARISON_WORDS.get(self.sign, "{}").format(self.value)


@dataclass(frozen=True)
class Effect:
    """What happens when the condition holds. `urgency` for RAISE and LOWER, `flag` for FLAG."""

    condition: Condition
    kind: EffectKind
    urgency: Urgency | None = None
    flag: str | None = None


@dataclass(frozen=True)
class AskedIf:
    """The question only applies while another answer is not known to rule it out."""

    question: str
    answer: str


@dataclass(frozen=True)
class Question:
    """One question of one complaint. `choices` is empty unless the kind is CHOICE.

    `alternative_to` names a question that makes this one needless once it is answered.
    """

    key: str
    label: str
    kind: Kind
    effects: tuple[Effect, ...] = ()
    choices: tuple[str, ...] = ()
    topic: Topic | None = None
    asked_if: AskedIf | None = None
    alternative_to: str | None = None

    @property
    def unit(self) -> str:
        return UNITS.get(self.kind, "")

    def effects_of(self, answer: Answer) -> tuple[Effect, ...]:
        return tuple(effect for effect in self.effects if effect.condition.holds(answer))

    def worst_effects(self) -> tuple[Effect, ...]:
        """What not knowing counts as: the most urgent class and the points, but no flag and no lowering."""
        raising = [e for e in self.effects if e.kind is EffectKind.RAISE and e.urgency is not None]
        worst = sorted(raising, key=lambda e: e.urgency or Urgency.ADVICE)[:1]
        points = [e for e in self.effects if e.kind is EffectKind.POINT]
        return tuple(worst + points[:1])

    def can_raise(self) -> bool:
        """Whether some answer makes the call more urgent or sets a flag."""
        return any(effect.kind is not EffectKind.LOWER for effect in self.effects)

    def with_topic(
        self, topic: Topic | None, asked_if: AskedIf | None, alternative_to: str | None
    ) -> "Question":
        return replace(self, topic=topic, asked_if=asked_if, alternative_to=alternative_to)


def parse_questions(text: str) -> tuple[Question, ...]:
    """Read the questions column of one complaint. Raises ValueError saying what it could not read."""
    questions = tuple(_parse_question(part.strip()) for part in text.split(" | "))
    keys = [question.key for question in questions]
    if len(set(keys)) != len(keys):
        raise ValueError(f"a question is asked twice: {', '.join(keys)}")
    return questions


def _parse_question(text: str) -> Question:
    match = QUESTION_PATTERN.fullmatch(text)
    if match is None:
        raise ValueError(f"{text!r} is not 'key[type] label => effects'")
    kind = _parse_kind(match["kind"])
    effects = parse_effects(match["effects"], kind)
    choices = (
        tuple(dict.fromkeys(str(effect.condition.value) for effect in effects)) if kind is Kind.TEXT else ()
    )
    if choices:
        kind, choices = Kind.CHOICE, (*choices, "neither")
    label = match["label"]
    return Question(match["key"], label[0].upper() + label[1:], kind, effects, choices)


def _parse_kind(text: str) -> Kind:
    try:
        return Kind(text)
    except ValueError:
        raise ValueError(f"{text!r} is not a type of answer") from None


def parse_effects(text: str, kind: Kind) -> tuple[Effect, ...]:
    """Read the part after `=>`."""
    if text == "info":
        return ()
    return tuple(_parse_effect(part, kind) for part in text.split(","))


def _parse_effect(text: str, kind: Kind) -> Effect:
    condition_text, colon, outcome = text.partition(":")
    if not colon:
        raise ValueError(f"{text!r} is not 'condition:outcome'")
    condition = parse_condition(condition_text, kind)
    if outcome == "+1":
        return Effect(condition, EffectKind.POINT)
    if outcome.startswith("flag:"):
        return Effect(condition, EffectKind.FLAG, flag=_known_flag(outcome.removeprefix("flag:")))
    lowers = outcome.startswith("lower:")
    urgency = _known_urgency(outcome.removeprefix("lower:"))
    return Effect(condition, EffectKind.LOWER if lowers else EffectKind.RAISE, urgency)


def parse_condition(text: str, kind: Kind) -> Condition:
    """Read a condition, refusing one that this kind of answer can never meet."""
    comparison = COMPARISON_PATTERN.fullmatch(text)
    numeric = kind.value.startswith("n_")
    if comparison and numeric:
        return Condition(comparison[1], Decimal(comparison[2]))
    if kind is Kind.YES_NO and text in ("yes", "no"):
        return Condition("=", text)
    if kind in (Kind.TEXT, Kind.CHOICE) and WORD_PATTERN.fullmatch(text):
        return Condition("=", text)
    raise ValueError(f"{text!r} is not a condition on an answer of type {kind.value}")


def _known_flag(flag: str) -> str:
    if flag not in FLAG_SENTENCES:
        raise ValueError(f"{flag!r} is not a flag")
    return flag


def _known_urgency(text: str) -> Urgency:
    try:
        return Urgency(text)
    except ValueError:
        raise ValueError(f"{text!r} is not an effect and not a class") from None
