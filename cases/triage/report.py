"""What goes into triage and what comes out of it. Plain values; instants are aware, and come back in UTC."""

import enum
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime

from cases.triage.errors import AnswerError
from cases.triage.flags import EmergencyService, FlagNote
from cases.triage.skills import SkillNeed
from cases.triage.vocabulary import Urgency


@dataclass(frozen=True)
class CallReport:
    """What is known of a call: two clocks, the complaint and the answers.

    `answers` maps question keys (the complaint's own and the general ones) to yes/no, numbers, choices or
    text, as a page or a program sends them; "unknown" means asked and not known, a missing
    key not asked.
    `onset_at` is the farmer's estimate, None when nobody knows. `window` is the booked or hard window
    [start, end). `anchor_at` is the event that a hard window counts from (the injection of a skin test).
    """

    code: str
    called_at: datetime
    answers: Mapping[str, object] = field(default_factory=dict)
    onset_at: datetime | None = None
    species: str | None = None
    window: tuple[datetime, datetime] | None = None
    anchor_at: datetime | None = None

    def __post_init__(self) -> None:
        for name in ("called_at", "onset_at", "anchor_at"):
            object.__setattr__(self, name, _utc(name, getattr(self, name)))
        if self.onset_at is not None and self.onset_at > self.called_at:
            raise AnswerError(
                "onset_at", "The onset cannot be later than the call. Correct one of the two times."
            )
        if self.window is not None:
            self._check_window(self.window)

    def _check_window(self, window: tuple[datetime, datetime]) -> None:
        start, end = (_utc("window", instant) for instant in window)
        if start is None or end is None or start >= end:
            raise AnswerError("window", "The window must start before it ends.")
        object.__setattr__(self, "window", (start, end))


@dataclass(frozen=True)
class VetWord:
    """A decision that only a vet may make, with the vet's name on it.

    `lower_to` lowers the class; `till_morning` leaves a same-day call taken at night for the morning;
    `arrive_by` is the time that the vet named. `answers_seen` are the answers as the vet heard them: an
    answer that has changed since counts in full again. None means that the vet heard
    the answers as they are now.
    """

    vet: str
    lower_to: Urgency | None = None
    till_morning: bool = False
    arrive_by: datetime | None = None
    reason: str = ""
    answers_seen: Mapping[str, object] | None = None

    def __post_init__(self) -> None:
        if not self.vet.strip():
            raise AnswerError("vet", "Lowering needs the name of the vet who decided it.")
        object.__setattr__(self, "arrive_by", _utc("arrive_by", self.arrive_by))


class ReasonKind(enum.Enum):
    BASE = "base"
    ANSWER = "answer"
    UNKNOWN = "unknown"
    FLOOR = "floor"
    POINT = "point"
    LOWERED = "lowered"
    DEADLINE = "deadline"


@dataclass(frozen=True)
class Reason:
    """One plain sentence, the question that gave it, the class it led to, and where the rule comes from."""

    kind: ReasonKind
    sentence: str
    question: str | None = None
    urgency: Urgency | None = None
    source_keys: tuple[str, ...] = ()

    def as_dict(self) -> dict[str, object]:
        """Return plain JSON values, for keeping beside the call."""
        return {
            "kind": self.kind.value,
            "sentence": self.sentence,
            "question": self.question,
            "urgency": self.urgency.value if self.urgency else None,
            "source_keys": list(self.source_keys),
        }


@dataclass(frozen=True)
class Proposal:
    """A lowering that the table suggests; it waits for a vet's name."""

    to: Urgency
    question: str
    sentence: str


@dataclass(frozen=True)
class Reask:
    """A question that nobody could answer yet, to be asked again by `by`."""

    question: str
    label: str
    by: datetime


@dataclass(frozen=True)
class Assessment:
    """How urgent, by when, why, and what to say and bring.

    `arrive_by` is None when no arrival is owed: advice, phone-only rows, and booked work at its base class.
    `worse_at` is onset plus the row's worse_after, None when either is unknown. `biology_passed` says that
    `worse_at` is already past or too close to be met: the class target stands and a vet talks prognosis.
    `vet_decision_wanted` marks a same-day call taken at night: now, or first job in the morning.
    """

    code: str
    trade_name: str
    urgency: Urgency
    base_urgency: Urgency
    arrive_by: datetime | None
    worse_at: datetime | None
    biology_passed: bool
    vet_phone_by: datetime
    visit_wanted: bool
    booked: bool
    window: tuple[datetime, datetime] | None
    vet_decision_wanted: bool
    authority_directs_visit: bool
    reasons: tuple[Reason, ...]
    flags: tuple[FlagNote, ...]
    emergency_first: tuple[EmergencyService, ...]
    points: int
    proposals: tuple[Proposal, ...]
    lowered_by: str | None
    reask: tuple[Reask, ...]
    not_asked: tuple[str, ...]
    skills: tuple[SkillNeed, ...]
    kit: tuple[str, ...]
    second_person: str
    bring_in: str
    advice: str
    minutes_on_farm_median: int
    minutes_on_farm_pessimistic: int
    followup_template: str
    source_keys: tuple[str, ...]


def _utc(name: str, instant: datetime | None) -> datetime | None:
    if instant is None:
        return None
    if not isinstance(instant, datetime) or instant.utcoffset() is None:
        raise AnswerError(name, f"{name} must be a time with its offset from UTC.")
    return instant.astimezone(UTC)
