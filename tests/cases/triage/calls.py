"""Calls for the triage tests, and the complaint table read a second time without the package's own reader."""

import csv
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import NamedTuple
from zoneinfo import ZoneInfo

import cases.triage
from cases.triage import ArrivalTargets, Assessment, CallReport, Urgency, VetWord, assess

ROOT = Path(cases.triage.__file__).parent
LONDON = ZoneInfo("Europe/London")
TARGETS = ArrivalTargets()
NOON = datetime(2026, 2, 11, 12, 0, tzinfo=UTC)  # a Wednesday, by day, no clock change near
NIGHT = datetime(2026, 2, 11, 22, 0, tzinfo=UTC)
MINUTE = timedelta(minutes=1)


def triage(
    code: str,
    answers: dict[str, object] | None = None,
    *,
    called_at: datetime = NOON,
    onset_min: int | None = None,
    lowered_by: VetWord | None = None,
    targets: ArrivalTargets = TARGETS,
    tz: ZoneInfo = LONDON,
    **report: object,
) -> Assessment:
    onset_at = None if onset_min is None else called_at - onset_min * MINUTE
    call = CallReport(code, called_at, answers or {}, onset_at=onset_at, **report)
    return assess(call, targets, tz=tz, lowered_by=lowered_by)


def minutes(later: datetime | None, earlier: datetime = NOON) -> float:
    assert later is not None
    return (later - earlier) / MINUTE


class RawEffect(NamedTuple):
    code: str
    key: str
    kind: str
    condition: str
    outcome: str

    @property
    def name(self) -> str:
        return f"{self.code}.{self.key} {self.condition}:{self.outcome}"


def raw_rows() -> list[dict[str, str]]:
    with (ROOT / "data" / "complaints.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def table_rows(name: str) -> list[dict[str, str]]:
    """The rows of one of the reference tables carried beside the tests."""
    with (Path(__file__).parents[2] / "data" / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def raw_questions(row: dict[str, str]) -> list[tuple[str, str, str]]:
    """Key, type and effects text of each question, by plain splitting."""
    found = []
    for part in row["questions"].split(" | "):
        head, effects = part.rsplit(" => ", 1)
        key, rest = head.split("[", 1)
        found.append((key, rest.split("]", 1)[0], effects))
    return found


def raw_effects() -> list[RawEffect]:
    return [
        RawEffect(row["code"], key, kind, *effect.split(":", 1))
        for row in raw_rows()
        for key, kind, effects in raw_questions(row)
        if effects != "info"
        for effect in effects.split(",")
    ]


def limit_pair(effect: RawEffect) -> tuple[object, object]:
    """An answer that just meets the condition, and the nearest one that does not."""
    condition = effect.condition
    if condition in ("yes", "no"):
        return condition, "no" if condition == "yes" else "yes"
    if condition[0] not in "<>":
        return condition, "neither"
    number = float(condition.lstrip("<>="))
    step = 0.1 if effect.kind == "n_temp" else 1
    inside = number if "=" in condition else number - step
    outside = number - step if condition.startswith(">") else number + (step if "=" in condition else 0)
    return round(inside, 1) if step < 1 else int(inside), round(outside, 1) if step < 1 else int(outside)


def benign_answers(code: str) -> dict[str, object]:
    """An answer to every question of the row that sets off as little as possible."""
    row = next(row for row in raw_rows() if row["code"] == code)
    return {key: _benign(kind, effects) for key, kind, effects in raw_questions(row)}


def _benign(kind: str, effects: str) -> object:
    if kind == "text":
        return "neither" if effects != "info" else "nothing special"
    candidates: list[object] = ["yes", "no"] if kind == "yn" else [0, 1, 2, 5, 38.5, 70, 300]
    if kind in ("n_temp",):
        candidates = [38.5]
    return min(candidates, key=lambda answer: severity(effects, answer))


def severity(effects: str, answer: object) -> tuple[int, int]:
    """How bad an answer is by the row's own words: class steps first, then points and flags."""
    worst, marks = 0, 0
    for effect in [] if effects == "info" else effects.split(","):
        condition, outcome = effect.split(":", 1)
        if not raw_holds(condition, answer):
            continue
        if outcome in {urgency.value for urgency in Urgency}:
            worst = max(worst, 5 - Urgency(outcome).rank)
        elif not outcome.startswith("lower:"):
            marks += 1
    return worst, marks


def raw_holds(condition: str, answer: object) -> bool:
    if condition[0] not in "<>":
        return answer == condition
    number = float(condition.lstrip("<>="))
    value = float(answer)  # type: ignore[arg-type] -- numeric conditions only meet numbers
    return {
        ">=": value >= number,
        "<=": value <= number,
        ">": value > number,
        "<": value < number,
    }[condition.rstrip("0123456789.")]
