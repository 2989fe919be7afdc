"""How time on call counts, as the court has held: rows with number, date, source and mark.

At the workplace it counts in full, asleep or not. At home it counts as far as it was worked, and in full
where the constraints leave no free use of the time: minutes to answer in, few means, frequent calls.
Which of the two it is, is the practice's to settle on good advice: `RuleSet.standby_in_full`.
"""

import csv
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from functools import cache
from pathlib import Path

from rotas.rest.rules import RuleSet

DATA = Path(__file__).parent / "data" / "oncall_caselaw.csv"


class Counts(StrEnum):
    """How much of a time on call is working time; empty where the case is about something else."""

    IN_FULL = "in_full"
    AS_WORKED = "as_worked"
    BY_CONSTRAINTS = "by_constraints"
    NOT_ASKED = ""


@dataclass(frozen=True)
class Holding:
    """One case of the Court of Justice of the European Union, in our words."""

    case: str
    number: str
    day: date
    at_workplace: Counts
    at_home: Counts
    held: str
    mark: str
    source: str

    @property
    def cited(self) -> str:
        """How the case is named: 'Matzak, C-518/15'."""
        return f"{self.case}, {self.number}"


@cache
def holdings() -> tuple[Holding, ...]:
    """Return every case in the order of the table."""
    with DATA.open(encoding="utf-8", newline="") as rows:
        return tuple(_holding(row) for row in csv.DictReader(rows))


def _holding(row: dict[str, str]) -> Holding:
    return Holding(
        case=row["case"],
        number=row["number"],
        day=date.fromisoformat(row["date"]),
        at_workplace=Counts(row["at_workplace"]),
        at_home=Counts(row["at_home"]),
        held=row["holding_in_our_words"],
        mark=row["verified"],
        source=row["source_read"],
    )


def rests_on_full_standby(grounds: str) -> bool:
    """Say whether the grounds name a case in which stand-by at home counted in full."""
    return any(held.number in grounds for held in holdings() if held.at_home == Counts.IN_FULL)


def standby_told(rules: RuleSet) -> str:
    """Return in a sentence how the set counts time on call, with the cases it follows."""
    workplace = _named(held for held in holdings() if held.at_workplace == Counts.IN_FULL)
    how = Counts.IN_FULL if rules.standby_in_full else Counts.AS_WORKED
    home = _named(held for held in holdings() if held.at_home in (how, Counts.BY_CONSTRAINTS))
    much = "in full" if rules.standby_in_full else "as far as it was worked"
    return f"On call at the practice counts in full ({workplace}); stand-by at home counts {much} ({home})."


def _named(cases: Iterable[Holding]) -> str:
    return "; ".join(held.cited for held in cases)
