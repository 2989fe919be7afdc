"""Reading the demo scenario from its files into `kinds`, strictly: a wrong key or time is refused."""

import csv
import json
import re
from collections.abc import Callable
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

from dispatch.demo.scenario import kinds
from dispatch.travel.geodesy import Point

HERE = Path(__file__).parent
DATA = HERE.parent / "data"
ROADS = DATA / "county.osm"
MAP = DATA / "county.geojson"
EVENING_BEGINS_MIN = 18 * 60

_CLOCK = re.compile(r"(-?\d+) ([01]\d|2[0-3]):([0-5]\d)")

Row = dict[str, Any]
T = TypeVar("T")


class ScenarioError(ValueError):
    """A scenario file says something that cannot be meant."""


def clock(text: str) -> int:
    """Return minutes after 18:00 on day 0 of "day hh:mm", such as "1 02:10"."""
    found = _CLOCK.fullmatch(text)
    if not found:
        raise ScenarioError(f"{text!r} is not a time: write the day and the clock, such as 1 02:10.")
    day, hour, minute = (int(part) for part in found.groups())
    return day * 1440 + hour * 60 + minute - EVENING_BEGINS_MIN


def maybe_clock(text: str | None) -> int | None:
    """Return the minutes, or None where there is no time."""
    return clock(text) if text else None


def build(kind: Callable[..., T], row: Row, **replaced: Any) -> T:
    """Make one value from a row, naming the row where its keys do not fit."""
    try:
        return kind(**{key: _frozen(value) for key, value in row.items()} | replaced)
    except TypeError as error:
        raise ScenarioError(f"{row.get('id', row)}: {error}") from error


def without(row: Row, *keys: str) -> Row:
    """Return the row without some keys, which it must have."""
    missing = [key for key in keys if key not in row]
    if missing:
        raise ScenarioError(f"{row.get('id', row)} lacks {', '.join(missing)}.")
    return {key: value for key, value in row.items() if key not in keys}


def _frozen(value: Any) -> Any:
    return tuple(value) if isinstance(value, list) else value


def _json(name: str, folder: Path = HERE) -> Row:
    return json.loads((folder / name).read_text(encoding="utf-8"))


def _rows(name: str) -> list[dict[str, str]]:
    with (HERE / name).open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def _point(row: Row) -> Point:
    return Point(row["lat"], row["lon"])


@cache
def read_scenario() -> kinds.Scenario:
    """Read every file of the scenario, once."""
    places, staff = _json("places.json", DATA), _json("practice.json")
    evening, diary = _json("evening.json"), _json("diary.json")
    return kinds.Scenario(
        practice=build(kinds.PracticeInfo, staff["practice"], base=_point(places["practice"])),
        neighbours=tuple(build(kinds.Neighbour, row) for row in staff["neighbours"]),
        members=tuple(build(kinds.Member, row) for row in staff["members"]),
        vets=tuple(_vet(row, _point(places["homes"][row["id"]])) for row in staff["vets"]),
        base_kit=tuple(_kit(row) for row in staff["base_kit"]),
        shifts=tuple(_shift(row) for row in _rows("shifts.csv")),
        worked=tuple(_worked(row) for row in _rows("worked.csv")),
        said=tuple(_said(row) for row in _rows("said.csv")),
        clients=tuple(_client(row, places["farms"]) for row in _json("clients.json")["clients"]),
        medicines=_medicines(),
        bookings=tuple(_booking(row) for row in diary["visits"]),
        booked_by=diary["booked_by"],
        now_min=clock(evening["now"]),
        calls=tuple(_call(row) for row in evening["calls"]),
    )


def _kit(row: Row) -> kinds.KitItem:
    plain = {key: value for key, value in row.items() if key != "ready_at"}
    return build(kinds.KitItem, plain, ready_min=maybe_clock(row.get("ready_at")))


VET_KEYS = ("fte", "skills", "car", "limits", "not_available_for", "rota", "note")


def _vet(row: Row, home: Point) -> kinds.DemoVet:
    return kinds.DemoVet(
        member=build(kinds.Member, without(row, *VET_KEYS)),
        home=home,
        fte=Decimal(str(row["fte"])),
        skills=tuple(row["skills"].items()),
        car=tuple(_kit(item) for item in row["car"]),
        limits=tuple(row["limits"]),
        not_available_for=tuple(row["not_available_for"]),
        rota=_on_the_rota(row["rota"]),
        note=row["note"],
    )


def _on_the_rota(row: Row) -> kinds.OnTheRota:
    rules = tuple((rule["weekday"], rule["role"]) for rule in row["not_on"])
    return build(kinds.OnTheRota, without(row, "not_on"), not_on=rules)


def _shift(row: dict[str, str]) -> kinds.DemoShift:
    times = {"start_min": clock(row["starts"]), "end_min": clock(row["ends"])}
    return build(kinds.DemoShift, without(row, "starts", "ends"), **times)


def _worked(row: dict[str, str]) -> kinds.Worked:
    times = {"start_min": clock(row["starts"]), "end_min": clock(row["ends"])}
    km = int(row["drive_km"]) if row["drive_km"] else None
    return build(kinds.Worked, without(row, "starts", "ends", "drive_km"), drive_km=km, **times)


def _said(row: dict[str, str]) -> kinds.Said:
    said = without(row, "at", "hours_slept")
    return build(kinds.Said, said, at_min=clock(row["at"]), hours_slept=row["hours_slept"] or None)


def _client(row: Row, farms: dict[str, Row]) -> kinds.DemoClient:
    return build(
        kinds.DemoClient,
        row,
        phones=tuple(build(kinds.Phone, phone) for phone in row["phones"]),
        locations=tuple(_location(place, farms) for place in row["locations"]),
    )


def _location(row: Row, farms: dict[str, Row]) -> kinds.DemoLocation:
    if row["farm"] not in farms:
        raise ScenarioError(f"{row['id']}: the county has no farm {row['farm']}.")
    return build(
        kinds.DemoLocation,
        row,
        at=_point(farms[row["farm"]]),
        animals=tuple(build(kinds.DemoAnimal, animal) for animal in row["animals"]),
        groups=tuple(build(kinds.DemoGroup, group) for group in row["groups"]),
    )


def _medicines() -> tuple[kinds.DemoMedicine, ...]:
    ids = [row["id"] for row in _rows("medicines.csv")]
    periods = _by_medicine("label_periods.csv", ids, _period)
    batches = _by_medicine("batches.csv", ids, _batch)
    return tuple(
        build(kinds.DemoMedicine, row, periods=tuple(periods[row["id"]]), batches=tuple(batches[row["id"]]))
        for row in _rows("medicines.csv")
    )


def _by_medicine(file: str, ids: list[str], make: Callable[[dict[str, str]], T]) -> dict[str, list[T]]:
    found: dict[str, list[T]] = {name: [] for name in ids}
    for row in _rows(file):
        if row["medicine"] not in found:
            raise ScenarioError(f"{file} names {row['medicine']}, which is no medicine here.")
        found[row["medicine"]].append(make(row))
    return found


def _batch(row: dict[str, str]) -> kinds.DemoBatch:
    return kinds.DemoBatch(row["number"], int(row["days_left"]))


def _period(row: dict[str, str]) -> kinds.DemoPeriod:
    return build(
        kinds.DemoPeriod,
        without(row, "medicine"),
        value=Decimal(row["value"]) if row["value"] else None,
        not_for_use={"yes": True, "no": False}[row["not_for_use"]],
    )


def _booking(row: Row) -> kinds.DemoBooking:
    return build(
        kinds.DemoBooking,
        without(row, "starts", "ends", "injected"),
        start_min=clock(row["starts"]),
        end_min=clock(row["ends"]),
        injected_min=maybe_clock(row["injected"]),
    )


def _call(row: Row) -> kinds.DemoCall:
    return build(
        kinds.DemoCall,
        without(row, "at", "onset"),
        at_min=clock(row["at"]),
        onset_min=maybe_clock(row["onset"]),
        answers=tuple(row["answers"].items()),
        steps=tuple(_step(step) for step in row["steps"]),
    )


def _step(row: Row) -> kinds.Step:
    treatment = row.get("treatment")
    plain = {key: value for key, value in row.items() if key not in {"at", "do", "until", "treatment"}}
    return build(
        kinds.Step,
        plain,
        at_min=clock(row["at"]),
        do=kinds.Do(row["do"]),
        until_min=maybe_clock(row.get("until")),
        treatment=_treatment(treatment) if treatment else None,
    )


def _treatment(row: Row) -> kinds.DemoTreatment:
    return build(kinds.DemoTreatment, row, dose_amount=Decimal(str(row["dose_amount"])))
