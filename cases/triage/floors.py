"""Hard floors: what makes a call at least this urgent, whatever else was answered."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache

from cases.triage.catalogue import Catalogue, Complaint, catalogue
from cases.triage.general import GENERAL_QUESTIONS
from cases.triage.questions import Answer, Condition, Question, parse_condition
from cases.triage.tables import Row, codes, data_text, rows
from cases.triage.vocabulary import Urgency

FILE = "floors.csv"
COLUMNS = ("floor", "code", "question", "condition", "at_least", "source_keys")
ANY = "any"
NOTIFIABLE_FLAG = "notifiable_possible"
NOTIFIABLE_CODE = "suspected_notifiable"

FLOOR_SENTENCES = {
    "person": "A person is in danger: emergency services first.",
    "breathing": "It cannot breathe properly.",
    "bleeding": "Blood is running in a stream.",
    "fitting": "It is fitting.",
    "flat_out": "It is flat out or blown up.",
    "outside": "Womb or gut is outside the body.",
    "birth": "The birth has made no progress for too long.",
    "suffering": "The pain is not under control, or the animal is suffering.",
    "poison": "The others can still reach the poison.",
}


@dataclass(frozen=True)
class Floor:
    """One way to meet a floor. Without a question the complaint itself meets it."""

    name: str
    code: str
    question: str | None
    condition: Condition | None
    at_least: Urgency
    source_keys: tuple[str, ...]

    @property
    def sentence(self) -> str:
        return FLOOR_SENTENCES[self.name]

    def met_by(self, answers: Mapping[str, Answer]) -> bool:
        if self.question is None or self.condition is None:
            return True
        answer = answers.get(self.question)
        return answer is not None and self.condition.holds(answer)


@cache
def own_floors() -> tuple[Floor, ...]:
    """Return the project's own floors, checked against its complaint table."""
    return load_floors(data_text(FILE), catalogue())


def load_floors(text: str, complaints: Catalogue) -> tuple[Floor, ...]:
    """Read the floors. Raises CatalogueError for a floor on a question that is never asked."""
    return tuple(_floor(row, complaints) for row in rows(FILE, text, COLUMNS))


def floors_for(complaint: Complaint, floors: tuple[Floor, ...]) -> Iterator[Floor]:
    """Yield the floors that can be met on a call with this complaint."""
    return (floor for floor in floors if floor.code in (ANY, complaint.code))


def floors_met(
    complaint: Complaint, answers: Mapping[str, Answer], unknown: frozenset[str], floors: tuple[Floor, ...]
) -> list[Floor]:
    """Return the floors met, the most urgent of each name only.

    `unknown` are the questions that count as the worse answer because nobody knows.
    """
    most_urgent: dict[str, Floor] = {}
    for floor in floors_for(complaint, floors):
        if not (floor.met_by(answers) or floor.question in unknown):
            continue
        best = most_urgent.get(floor.name)
        if best is None or floor.at_least < best.at_least:
            most_urgent[floor.name] = floor
    return list(most_urgent.values())


def notifiable(complaint: Complaint, answers: Mapping[str, Answer], flags: frozenset[str]) -> bool:
    """Whether a reportable disease is suspected: by name, by a general answer, or by a flag an answer set."""
    said = answers.get("notifiable_suspected") == "yes"
    return said or complaint.code == NOTIFIABLE_CODE or NOTIFIABLE_FLAG in flags


def _floor(row: Row, complaints: Catalogue) -> Floor:
    question = _question(row, complaints) if row.cells["question"] else None
    condition = row.read("condition", lambda cell: parse_condition(cell, question.kind)) if question else None
    return Floor(
        name=row.one_of("floor", frozenset(FLOOR_SENTENCES)),
        code=row.text("code"),
        question=question.key if question else None,
        condition=condition,
        at_least=row.read("at_least", Urgency),
        source_keys=row.read("source_keys", codes),
    )


def _question(row: Row, complaints: Catalogue) -> Question:
    code, key = row.cells["code"], row.cells["question"]
    if code != ANY and code not in complaints:
        raise row.refused("code", f"there is no complaint {code!r}")
    asked = GENERAL_QUESTIONS if code == ANY else complaints[code].questions
    question = next((each for each in asked if each.key == key), None)
    if question is None:
        raise row.refused("question", f"{code!r} asks no question {key!r}")
    return question
