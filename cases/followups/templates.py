"""A follow-up table: which procedure owes which checks, checked whole as it is read."""

import csv
import enum
import io
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import TypeVar

from cases.followups.errors import TableError

T = TypeVar("T")
COLUMNS = (
    "template", "procedure", "step", "offset_value", "offset_unit", "anchor", "who", "action", "importance",
    "escalate_if", "source_keys",
)  # fmt: skip
# The one check that is missed for good: hours either side of its due time, by template and step [S26].
HARD_SLACK_H = {("fu_tb_test", 1): 4}


class Anchor(enum.Enum):
    """What an offset counts from; the value is the table's word."""

    VISIT_END = "visit_end"
    SURGERY_END = "surgery_end"
    FIRST_SIGNS_OF_BIRTH = "first_signs_of_birth"
    BIRTH = "birth"
    CALVING = "calving"
    LAST_DOSE = "last_dose"
    SAMPLE_SENT = "sample_sent"
    REPORT_MADE = "report_made"
    INJECTION = "injection"

    @property
    def word(self) -> str:
        return _ANCHOR_WORDS[self]


_ANCHOR_WORDS = {
    Anchor.VISIT_END: "the end of the visit",
    Anchor.SURGERY_END: "the end of surgery",
    Anchor.FIRST_SIGNS_OF_BIRTH: "the first signs of birth",
    Anchor.BIRTH: "the birth",
    Anchor.CALVING: "calving",
    Anchor.LAST_DOSE: "the last dose",
    Anchor.SAMPLE_SENT: "the sample leaving for the laboratory",
    Anchor.REPORT_MADE: "the report",
    Anchor.INJECTION: "the injection",
}


class Unit(enum.Enum):
    HOURS = "h"
    DAYS = "d"


class Importance(enum.Enum):
    MUST = "must"
    SHOULD = "should"
    OPTIONAL = "optional"


class Who(enum.Enum):
    """Who carries the step out; the value is the table's word."""

    FARMER = "farmer_self"
    RECEPTION = "reception_phone"
    VET_PHONE = "vet_phone"
    VET_VISIT = "vet_visit"
    NURSE_VISIT = "nurse_visit"
    LAB = "lab"
    SYSTEM = "system"

    @property
    def word(self) -> str:
        return _WHO_WORDS[self]

    @property
    def needs_visit(self) -> bool:
        return self in (Who.VET_VISIT, Who.NURSE_VISIT)


_WHO_WORDS = {
    Who.FARMER: "the farmer looks and says fine or not fine",
    Who.RECEPTION: "reception telephones",
    Who.VET_PHONE: "a vet telephones",
    Who.VET_VISIT: "a vet visits",
    Who.NURSE_VISIT: "a nurse visits",
    Who.LAB: "the laboratory reports",
    Who.SYSTEM: "no person is needed",
}


@dataclass(frozen=True)
class StepRule:
    """One row. `slack_h` is set where missing the due time by more loses the check for good."""

    number: int
    offset: int
    unit: Unit
    anchor: Anchor
    who: Who
    action: str
    importance: Importance
    escalate_if: str
    source_keys: tuple[str, ...]
    slack_h: int | None = None


@dataclass(frozen=True)
class Template:
    """One procedure and its steps, in the order of the table."""

    code: str
    procedure: str
    steps: tuple[StepRule, ...]

    def anchors(self) -> frozenset[Anchor]:
        """Return the events that somebody must tell us before every step has a date."""
        return frozenset(step.anchor for step in self.steps)


def load_templates(text: str) -> dict[str, Template]:
    """Read the table. Raises TableError with row and column for anything it does not know."""
    reader = csv.DictReader(io.StringIO(text), strict=True)
    if tuple(reader.fieldnames or ()) != COLUMNS:
        raise TableError(1, "heading", f"the columns must be {', '.join(COLUMNS)}")
    lines = [_Line(number, cells) for number, cells in enumerate(reader, start=2)]
    read: dict[str, Template] = {}
    for code, group in groupby(lines, key=lambda line: line.cell("template")):
        template = _template(code, list(group))
        if code in read:
            raise TableError(0, "template", f"the rows of {code!r} must stand together")
        read[code] = template
    return read


@dataclass(frozen=True)
class _Line:
    number: int
    cells: dict[str, str]

    def cell(self, column: str) -> str:
        value = self.cells.get(column)
        if value is None or None in self.cells:
            raise TableError(self.number, column, f"the line needs exactly {len(COLUMNS)} cells")
        return value.strip()

    def read(self, column: str, reader: Callable[[str], T]) -> T:
        try:
            return reader(self.cell(column))
        except ValueError as error:
            raise TableError(self.number, column, str(error)) from error


def _template(code: str, lines: list[_Line]) -> Template:
    steps = tuple(_steps(code, lines))
    return Template(code, lines[0].read("procedure", _not_blank), steps)


def _steps(code: str, lines: Iterable[_Line]) -> Iterator[StepRule]:
    for expected, line in enumerate(lines, start=1):
        if line.read("step", _whole) != expected:
            raise TableError(line.number, "step", f"step {expected} of {code!r} was expected")
        yield StepRule(
            number=expected,
            offset=line.read("offset_value", _whole),
            unit=line.read("offset_unit", Unit),
            anchor=line.read("anchor", Anchor),
            who=line.read("who", Who),
            action=line.read("action", _not_blank),
            importance=line.read("importance", Importance),
            escalate_if=line.cell("escalate_if"),
            source_keys=line.read("source_keys", _sources),
            slack_h=HARD_SLACK_H.get((code, expected)),
        )


def _whole(cell: str) -> int:
    if not cell.isdecimal():
        raise ValueError(f"{cell!r} is not a whole number")
    return int(cell)


def _not_blank(cell: str) -> str:
    if not cell:
        raise ValueError("must not be blank")
    return cell


def _sources(cell: str) -> tuple[str, ...]:
    return tuple(key.strip() for key in _not_blank(cell).split(";"))
