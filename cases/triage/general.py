"""Questions for every call, whatever the complaint: those that meet a hard floor, and the soft points."""

from dataclasses import dataclass
from decimal import Decimal

from cases.triage.questions import Answer, Kind, Question, Topic


def _yes_no(key: str, label: str, topic: Topic | None = None) -> Question:
    return Question(key, label, Kind.YES_NO, topic=topic)


# A yes to any of these meets a hard floor [cp].
FLOOR_QUESTIONS = (
    _yes_no("person_in_danger", "Is any person hurt, trapped or in danger?"),
    _yes_no("cannot_breathe", "Is it struggling to breathe?", Topic.BREATHING),
    _yes_no("blood_in_stream", "Is blood running in a stream?", Topic.BLEEDING),
    _yes_no("flat_out_blown", "Is it flat out on its side and blown up?", Topic.DOWN),
    _yes_no("fits_now", "Is it fitting now?"),
    _yes_no("organ_outside", "Is the womb or gut hanging outside the body?"),
    _yes_no("suffering_now", "Is it in pain that nothing relieves, or suffering?"),
    _yes_no("poison_source_open", "Can the others still reach what poisoned it?"),
    _yes_no("notifiable_suspected", "Does anyone suspect a disease that must be reported?"),
)
NOTIFIABLE_QUESTION = "notifiable_suspected"


@dataclass(frozen=True)
class SoftModifier:
    """A fact that adds a soft point [cp], unless an answer about the same fact already decided the class."""

    question: Question
    same_fact_as: frozenset[str] = frozenset()

    def points(self, answer: Answer | None) -> int:
        """One point for a yes; a number of vital signs in the red band gives one each, two at most."""
        if isinstance(answer, Decimal):
            return min(int(answer), 2)
        return 1 if answer == "yes" else 0


def _modifier(key: str, label: str, same_fact_as: str = "", kind: Kind = Kind.YES_NO) -> SoftModifier:
    return SoftModifier(Question(key, label, kind), frozenset(same_fact_as.split()))


SOFT_MODIFIERS = (
    _modifier("getting_worse", "Worse over the last hour?", "worse sudden_worse"),
    _modifier("treatment_failed", "Treated 12 to 24 hours ago and no better?"),
    _modifier(
        "three_or_more",
        "Three or more affected, or 20 or more exposed and cases rising?",
        "affected others others_ill several dead ill cannot_stand mouth_breathing torn_alive alive_down"
        " count_30d count_7d no_weight",
    ),
    _modifier(
        "down_long_or_hard_ground",
        "Down 6 hours or more, or down on concrete, ice or slats?",
        "down flat_out hours_down concrete cush_h down_gasping flat stands dull",
    ),
    _modifier(
        "red_signs",
        "How many vital signs are in the red band (temperature, heart, breaths)?",
        "temp_c heart_rate cold_ears",
        Kind.COUNT,
    ),
    _modifier(
        "newborn_or_calving",
        "Newborn, late pregnant, or within 7 days of giving birth?",
        "days_calved hours_since_calving age_h calved foal young_small stood_2h sucked_4h",
    ),
    _modifier("hard_weather", "28 C or more, wet and below 5 C with wind, or snow closing the road?"),
    _modifier("nobody_to_nurse", "Nobody fit to nurse it until the vet comes?"),
    _modifier("becomes_night_call", "Will leaving it now make it a night call?"),
    _modifier("human_danger_short", "Dangerous to people, short of an emergency?", "wild nervous"),
)
MODIFIER_QUESTIONS = tuple(modifier.question for modifier in SOFT_MODIFIERS)
GENERAL_QUESTIONS = FLOOR_QUESTIONS + MODIFIER_QUESTIONS
GENERAL_KEYS = frozenset(question.key for question in GENERAL_QUESTIONS)
