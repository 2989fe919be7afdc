"""The closed lists of words that the complaint table uses, and how each is said to a person."""

import enum
from functools import total_ordering


@total_ordering
class Urgency(enum.Enum):
    """The class of a call. Sorts most urgent first: `min()` is the most urgent."""

    IMMEDIATE = "immediate"
    URGENT = "urgent"
    SAME_DAY = "same_day"
    NEXT_WORKING_DAY = "next_working_day"
    ADVICE = "advice"

    @property
    def rank(self) -> int:
        """0 is the most urgent."""
        return _RANKS[self]

    @property
    def word(self) -> str:
        """The class as shown on a page."""
        return _WORDS[self]

    @property
    def meaning(self) -> str:
        """What the class asks of the practice."""
        return _MEANINGS[self]

    def __lt__(self, other: object) -> bool:
        if not isinstance(other, Urgency):
            return NotImplemented
        return self.rank < other.rank

    def raised(self) -> "Urgency":
        """One class more urgent; immediate stays immediate."""
        return _IN_ORDER[max(self.rank - 1, 0)]


_IN_ORDER = tuple(Urgency)
_RANKS = {urgency: rank for rank, urgency in enumerate(_IN_ORDER)}
_WORDS = {urgency: urgency.value.replace("_", " ") for urgency in Urgency}
_MEANINGS = {
    Urgency.IMMEDIATE: "leave now",
    Urgency.URGENT: "leave as soon as the present job allows; hours matter",
    Urgency.SAME_DAY: "a vet on the farm today",
    Urgency.NEXT_WORKING_DAY: "a vet on the farm by the end of the next working day",
    Urgency.ADVICE: "a vet's advice by telephone is the service",
}

SPECIES = frozenset({"cattle", "sheep", "goat", "pig", "horse", "camelid"})

SKILLS = frozenset(
    {
        "first_opinion_farm", "calving", "caesar_cattle", "lambing", "caesar_small",
        "abdominal_surgery_cattle", "abdominal_surgery_small", "rumen_surgery", "epidural",
        "iv_fluids", "calf_iv", "wound_suturing",
        "lameness_claw", "ultrasound", "equine", "equine_obstetrics", "foal_medicine", "pig", "camelid",
        "euthanasia_firearm", "euthanasia_injection", "sedation_rescue", "official_tb", "official_report",
        "casualty_certificate", "post_mortem", "herd_problem",
    }
)  # fmt: skip

SECOND_PERSON_WORDS = {
    "no": "no second person needed",
    "farm_helper": "one sound adult on the farm",
    "two_helpers": "two helpers on the farm",
    "trained_second": "a nurse or a second vet must come",
}

BRING_IN_WORDS = {
    "no": "do not bring it in",
    "yes": "may be brought to the practice",
    "yes_if_small": "may be brought to the practice if it is small",
    "yes_carcass": "the carcass may be brought to the practice",
    "yes_samples": "samples may be brought to the practice",
}
