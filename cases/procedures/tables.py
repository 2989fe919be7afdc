"""The tables of procedures: methods compared, findings asked for, worse chances, words for the farmer."""

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from functools import cache
from pathlib import Path

DATA = Path(__file__).parent / "data"


class Kind(StrEnum):
    """What an answer to a finding looks like."""

    NUMBER = "number"
    CHOICE = "choice"
    TEXT = "text"


class Comparison(StrEnum):
    """How a finding is held against a figure or word."""

    IS = "is"
    AT_LEAST = "at_least"
    OVER = "over"


@dataclass(frozen=True)
class Method:
    """One way of doing it, for and against. `not_for`: the side on which it must not be chosen."""

    code: str
    words: str
    gist: str
    good: str
    against: str
    hands_kit_time: str
    not_for: str
    source_keys: tuple[str, ...]


@dataclass(frozen=True)
class Finding:
    """One thing to look for; a number lies between `least` and `most` in `unit`, or is a slip."""

    code: str
    words: str
    kind: Kind
    unit: str
    least: Decimal | None
    most: Decimal | None
    choices: tuple[str, ...]
    source_keys: tuple[str, ...]


@dataclass(frozen=True)
class Prospect:
    """A finding that makes the chance worse, in words."""

    finding: str
    test: Comparison
    value: str
    sentence: str
    source_keys: tuple[str, ...]


@dataclass(frozen=True)
class Procedure:
    """One kind of procedure. `outcome_days` count from its end; `outcome_question` is asked on each."""

    code: str
    words: str
    outcome_days: tuple[int, ...]
    outcome_question: str
    methods: tuple[Method, ...]
    findings: tuple[Finding, ...]
    prospects: tuple[Prospect, ...]
    aftercare: tuple[str, ...]
    source_keys: tuple[str, ...]

    def method(self, code: str) -> Method | None:
        """Return one of its methods."""
        return next((each for each in self.methods if each.code == code), None)


@cache
def procedures() -> dict[str, Procedure]:
    """Return every procedure by its code, in the order of the table."""
    return {row["procedure"]: _procedure(row) for row in _rows("procedures")}


def _procedure(row: dict[str, str]) -> Procedure:
    code = row["procedure"]
    return Procedure(
        code=code,
        words=row["words"],
        outcome_days=tuple(int(day) for day in row["outcome_days"].split(";")),
        outcome_question=row["outcome_question"],
        methods=tuple(_method(each) for each in _rows("methods", code)),
        findings=tuple(_finding(each) for each in _rows("findings", code)),
        prospects=tuple(_prospect(each) for each in _rows("prospects", code)),
        aftercare=tuple(each["words"] for each in _rows("aftercare", code)),
        source_keys=_keys(row),
    )


def _method(row: dict[str, str]) -> Method:
    names = ("words", "gist", "good", "against", "hands_kit_time", "not_for")
    return Method(code=row["method"], source_keys=_keys(row), **{name: row[name] for name in names})


def _finding(row: dict[str, str]) -> Finding:
    return Finding(
        code=row["finding"],
        words=row["words"],
        kind=Kind(row["kind"]),
        unit=row["unit"],
        least=Decimal(row["least"]) if row["least"] else None,
        most=Decimal(row["most"]) if row["most"] else None,
        choices=tuple(filter(None, row["choices"].split(";"))),
        source_keys=_keys(row),
    )


def _prospect(row: dict[str, str]) -> Prospect:
    return Prospect(row["finding"], Comparison(row["test"]), row["value"], row["sentence"], _keys(row))


def _keys(row: dict[str, str]) -> tuple[str, ...]:
    return tuple(row["source_keys"].split(";"))


def _rows(table: str, procedure: str = "") -> Iterator[dict[str, str]]:
    with (DATA / f"{table}.csv").open(encoding="utf-8", newline="") as rows:
        yield from (row for row in csv.DictReader(rows) if procedure in ("", row["procedure"]))
