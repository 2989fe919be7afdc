"""The complaint table: what callers ring about, read once and checked whole."""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cache

from cases.triage.errors import UnknownComplaint
from cases.triage.flags import FLAG_SENTENCES
from cases.triage.general import GENERAL_KEYS
from cases.triage.questions import AskedIf, Question, Topic, parse_questions
from cases.triage.skills import SkillNeed, parse_skills
from cases.triage.tables import Row, codes, data_text, maybe_minutes, rows, whole_minutes, yes_no
from cases.triage.vocabulary import BRING_IN_WORDS, SECOND_PERSON_WORDS, SPECIES, Urgency

FILE = "complaints.csv"
VITAL_FILE = "vital_questions.csv"
COLUMNS = (
    "code", "species", "trade_name", "caller_says", "questions", "base_class", "target_arrival_min",
    "vet_phone_within_min", "worse_after_min", "worse_after_note", "minutes_on_farm_median",
    "minutes_on_farm_pessimistic", "skills", "extra_kit", "second_person", "bring_in", "phone_advice",
    "flags", "followup_template", "scheduled", "hard_window", "source_keys",
)  # fmt: skip
VITAL_COLUMNS = ("code", "question", "topic", "asked_if", "alternative_to", "source_keys")
CODE_PATTERN = re.compile(r"[a-z][a-z0-9_]*")
WINDOW_PATTERN = re.compile(r"(?P<after>\d+) h \+/- (?P<slack>\d+) h after (?P<anchor>[a-z_]+)")
SOURCE_PATTERN = re.compile(r"cp|S\d+")


@dataclass(frozen=True)
class HardWindow:
    """A window that is missed for good: hours after an event, plus or minus `slack_h`."""

    after_h: int
    slack_h: int
    anchor: str


@dataclass(frozen=True)
class Complaint:
    """One row. Targets count minutes from the call, `worse_after_min` from onset; both [cp] unless sourced.

    `target_arrival_min` of an advice row is the time within which a vet telephones: nobody drives there.
    """

    code: str
    species: tuple[str, ...]
    trade_name: str
    caller_says: str
    questions: tuple[Question, ...]
    base_class: Urgency
    target_arrival_min: int | None
    vet_phone_within_min: int
    worse_after_min: int | None
    worse_after_note: str
    minutes_on_farm_median: int
    minutes_on_farm_pessimistic: int
    skills: tuple[SkillNeed, ...]
    extra_kit: tuple[str, ...]
    second_person: str
    bring_in: str
    phone_advice: str
    flags: tuple[str, ...]
    followup_template: str
    scheduled: bool
    hard_window: HardWindow | None
    due_by_law: bool
    source_keys: tuple[str, ...]

    @property
    def phone_only(self) -> bool:
        """Whether the useful act is a telephone call and no visit belongs to the row at all."""
        return self.minutes_on_farm_pessimistic == 0

    def question(self, key: str) -> Question | None:
        return next((question for question in self.questions if question.key == key), None)


class Catalogue:
    """All complaints, in the order of the table. Looking up an unknown code raises UnknownComplaint."""

    def __init__(self, complaints: Iterable[Complaint]) -> None:
        self._by_code = {complaint.code: complaint for complaint in complaints}

    def __getitem__(self, code: object) -> Complaint:
        complaint = self._by_code.get(code) if isinstance(code, str) else None
        if complaint is None:
            raise UnknownComplaint(code)
        return complaint

    def __iter__(self) -> Iterator[Complaint]:
        return iter(self._by_code.values())

    def __len__(self) -> int:
        return len(self._by_code)

    def __contains__(self, code: object) -> bool:
        return isinstance(code, str) and code in self._by_code


@cache
def catalogue() -> Catalogue:
    """Return the project's own complaint table, read and checked once for the whole process."""
    return load_catalogue(data_text(FILE), data_text(VITAL_FILE))


def load_catalogue(text: str, vital_text: str | None = None) -> Catalogue:
    """Read a complaint table. Raises CatalogueError with row and column for anything it does not know."""
    complaints: dict[str, Complaint] = {}
    for row in rows(FILE, text, COLUMNS):
        complaint = _complaint(row)
        if complaint.code in complaints:
            raise row.refused("code", f"{complaint.code!r} is in the table twice")
        complaints[complaint.code] = complaint
    for row in rows(VITAL_FILE, vital_text, VITAL_COLUMNS) if vital_text else ():
        _mark_vital(complaints, row)
    return Catalogue(complaints.values())


def _complaint(row: Row) -> Complaint:
    complaint = Complaint(
        code=row.read("code", _code),
        species=row.read("species", lambda cell: _known(cell, SPECIES)),
        trade_name=row.text("trade_name"),
        caller_says=row.text("caller_says"),
        questions=row.read("questions", _questions),
        base_class=row.read("base_class", Urgency),
        target_arrival_min=row.read("target_arrival_min", maybe_minutes),
        vet_phone_within_min=row.read("vet_phone_within_min", whole_minutes),
        worse_after_min=row.read("worse_after_min", maybe_minutes),
        worse_after_note=row.cells["worse_after_note"],
        minutes_on_farm_median=row.read("minutes_on_farm_median", whole_minutes),
        minutes_on_farm_pessimistic=row.read("minutes_on_farm_pessimistic", whole_minutes),
        skills=row.read("skills", parse_skills),
        extra_kit=row.read("extra_kit", _codes),
        second_person=row.one_of("second_person", frozenset(SECOND_PERSON_WORDS)),
        bring_in=row.one_of("bring_in", frozenset(BRING_IN_WORDS)),
        phone_advice=row.text("phone_advice"),
        flags=row.read("flags", lambda cell: _known(cell, frozenset(FLAG_SENTENCES)) if cell else ()),
        followup_template=row.read("followup_template", _code),
        scheduled=row.read("scheduled", yes_no),
        hard_window=row.read("hard_window", _hard_window),
        due_by_law=row.cells["hard_window"] == "statutory due date",
        source_keys=row.read("source_keys", _sources),
    )
    _check_whole(row, complaint)
    return complaint


def _check_whole(row: Row, complaint: Complaint) -> None:
    if complaint.minutes_on_farm_median > complaint.minutes_on_farm_pessimistic:
        raise row.refused("minutes_on_farm_pessimistic", "must not be below the median")
    needs_target = not complaint.scheduled and not complaint.phone_only
    if needs_target and complaint.target_arrival_min is None:
        raise row.refused("target_arrival_min", "a visit that is not booked needs a target")


def _code(cell: str) -> str:
    if not CODE_PATTERN.fullmatch(cell):
        raise ValueError(f"{cell!r} is not a code")
    return cell


def _codes(cell: str) -> tuple[str, ...]:
    return tuple(_code(code) for code in codes(cell))


def _known(cell: str, known: frozenset[str]) -> tuple[str, ...]:
    found = codes(cell)
    for code in found:
        if code not in known:
            raise ValueError(f"{code!r} is not known here")
    if not found:
        raise ValueError("must not be blank")
    return found


def _questions(cell: str) -> tuple[Question, ...]:
    questions = parse_questions(cell)
    for question in questions:
        if question.key in GENERAL_KEYS:
            raise ValueError(f"{question.key!r} is already asked on every call")
    return questions


def _sources(cell: str) -> tuple[str, ...]:
    found = codes(cell)
    if not found or not all(SOURCE_PATTERN.fullmatch(code) for code in found):
        raise ValueError(f"{cell!r} names no source; write cp where there is none")
    return found


def _hard_window(cell: str) -> HardWindow | None:
    if cell in ("", "statutory due date"):
        return None
    match = WINDOW_PATTERN.fullmatch(cell)
    if match is None:
        raise ValueError(f"{cell!r} is not a window")
    return HardWindow(int(match["after"]), int(match["slack"]), match["anchor"])


def _mark_vital(complaints: dict[str, Complaint], row: Row) -> None:
    """Give one question its topic, and say when it need not be asked."""
    code, key = row.cells["code"], row.cells["question"]
    complaint = complaints.get(code)
    question = complaint.question(key) if complaint else None
    if complaint is None or question is None:
        raise row.refused("question", f"{code!r} asks no question {key!r}")
    asked_if = row.read("asked_if", lambda cell: _asked_if(complaint, cell))
    other = row.cells["alternative_to"] or None
    if other is not None and complaint.question(other) is None:
        raise row.refused("alternative_to", f"{code!r} asks no question {other!r}")
    marked = question.with_topic(row.read("topic", Topic), asked_if, other)
    questions = tuple(marked if each.key == key else each for each in complaint.questions)
    complaints[code] = replace(complaint, questions=questions)


def _asked_if(complaint: Complaint, cell: str) -> AskedIf | None:
    if not cell:
        return None
    key, equals, answer = cell.partition("=")
    if not equals or complaint.question(key) is None:
        raise ValueError(f"{cell!r} is not question=answer of {complaint.code}")
    return AskedIf(key, answer)
