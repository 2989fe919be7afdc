"""What is read from an instance file, and what is refused with the field and the reason."""

import gzip
import json
from collections.abc import Callable
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest

from dispatch.planner.home_care.reading import FileRefused, read_instance
from tests.dispatch.planner.home_care.days import DAY, DOCUMENT

Document = dict[str, Any]


def written(path: Path, document: object) -> Path:
    raw = json.dumps(document).encode()
    path.write_bytes(gzip.compress(raw) if path.suffix == ".gz" else raw)
    return path


@pytest.mark.parametrize("name", ["day.json", "day.json.gz"])
def test_a_day_is_read_plain_or_gzipped_with_default_durations(tmp_path: Path, name: str) -> None:
    assert read_instance(written(tmp_path / name, DOCUMENT)) == DAY


def test_the_office_is_row_0_and_patients_follow(tmp_path: Path) -> None:
    assert DAY.place_of == {"ada": 1, "ben": 2, "cora": 3}


def patient(number: int, **changes: object) -> Callable[[Document], None]:
    def change(document: Document) -> None:
        document["patients"][number].update(changes)

    return change


def service(number: int, **changes: object) -> Callable[[Document], None]:
    def change(document: Document) -> None:
        document["patients"][number]["required_caregivers"][0].update(changes)

    return change


def top(**changes: object) -> Callable[[Document], None]:
    return lambda document: document.update(changes)


def without(field: str) -> Callable[[Document], None]:
    return lambda document: document.pop(field)


def staff(*abilities: list[str]) -> Callable[[Document], None]:
    return top(caregivers=[{"id": f"c{n}", "abilities": each} for n, each in enumerate(abilities)])


TWO = [{"service": "wash", "duration": 1}, {"service": "dose", "duration": 1}]
MALFORMED = {
    "no patients": (without("patients"), "patients", "is missing"),
    "nobody to visit": (top(patients=[]), "patients", "must not be empty"),
    "patients no list": (top(patients={}), "patients", "must be a list"),
    "a patient no object": (top(patients=[1]), "patients", "must hold objects"),
    "no id": (patient(0, id=""), "patients[0] id", "must be a name"),
    "id twice": (patient(1, id="ada"), "patients", "the id ada is given more than once"),
    "window of one": (patient(0, time_window=[1]), "patient ada time_window", "must be two numbers"),
    "window of words": (patient(0, time_window=["a", "b"]), "patient ada time_window", "must be a number"),
    "window closes first": (patient(0, time_window=[9, 8]), "patient ada time_window", "must not close"),
    "window before the day": (patient(0, time_window=[-1, 8]), "patient ada time_window", "not negative"),
    "no service": (patient(0, required_caregivers=[]), "patient ada required_caregivers", "one or two"),
    "unsynchronized pair": (
        patient(0, required_caregivers=TWO),
        "patient ada synchronization",
        "needed by every two",
    ),
    "synchronized alone": (
        patient(0, synchronization={"type": "simultaneous"}),
        "patient ada synchronization",
        "is for two services",
    ),
    "same service twice": (
        patient(1, required_caregivers=TWO[:1] * 2),
        "patient ben required_caregivers",
        "two different services",
    ),
    "unknown synchronization": (
        patient(1, synchronization={"type": "at once"}),
        "patient ben synchronization",
        "must be 'simultaneous' or 'sequential'",
    ),
    "synchronization a word": (
        patient(1, synchronization="both"),
        "patient ben synchronization",
        "an object",
    ),
    "gap missing": (
        patient(2, synchronization={"type": "sequential"}),
        "patient cora synchronization distance",
        "is missing",
    ),
    "gap turned round": (
        patient(2, synchronization={"type": "sequential", "distance": [5, 4]}),
        "patient cora synchronization distance",
        "must be [least, most]",
    ),
    "duration negative": (service(0, duration=-1), "service wash duration", "not negative"),
    "duration a truth": (
        service(0, duration=True),
        "ada required_caregivers[0] duration",
        "must be a number",
    ),
    "duration not a number": (service(0, duration=float("nan")), "duration", "must be a number"),
    "no default": (
        service(0, service="dose", duration=None),
        "patient ada required_caregivers[0] duration",
        "dose has no default_duration",
    ),
    "no staff": (top(caregivers=[]), "caregivers", "must not be empty"),
    "staff id twice": (
        top(caregivers=DOCUMENT["caregivers"] + DOCUMENT["caregivers"][:1]),
        "caregivers",
        "the id kim is given more than once",
    ),
    "abilities no names": (
        top(caregivers=[{"id": "kim", "abilities": [1]}]),
        "caregivers[0] abilities",
        "names of services",
    ),
    "nobody able": (
        staff(["wash", "dose", "meal"], ["dose"]),
        "patient ben required_caregivers",
        "no caregiver is able to do lift",
    ),
    "one for both": (
        staff(["wash", "lift", "dose", "meal"], ["dose"]),
        "patient ben required_caregivers",
        "one and the same caregiver only",
    ),
    "two offices": (top(central_offices=[{}, {}]), "central_offices", "exactly one"),
    "no roads": (without("distances"), "distances", "is missing"),
    "a row short": (
        top(distances=DOCUMENT["distances"][:3]),
        "distances",
        "must be 4 rows of 4: the office, then every patient",
    ),
    "a road negative": (
        top(distances=[[0, 1, 1, -1], *DOCUMENT["distances"][1:]]),
        "distances[0]",
        "none negative",
    ),
    "a road endless": (
        top(distances=[[0, 1, 1, 10**400], *DOCUMENT["distances"][1:]]),
        "distances[0]",
        "ordinary size",
    ),
}


@pytest.mark.parametrize(("change", "where", "reason"), MALFORMED.values(), ids=MALFORMED)
def test_a_malformed_day_is_refused_with_field_and_reason(
    tmp_path: Path, change: Callable[[Document], None], where: str, reason: str
) -> None:
    document = deepcopy(DOCUMENT)
    change(document)
    with pytest.raises(FileRefused) as refused:
        read_instance(written(tmp_path / "day.json", document))
    assert refused.value.where.startswith("day.json: ")
    assert where in refused.value.where
    assert reason in refused.value.reason


BROKEN = {
    "cut short": gzip.compress(b"{}" * 999)[:-9],
    "damaged": gzip.compress(bytes(range(256)))[:12] + b"\xff" * 40,
    "no JSON": b"patients: 3",
    "no text": b"\xff\xfe\xfd",
    "too deep": b"[" * 100_000,
}


@pytest.mark.parametrize("raw", BROKEN.values(), ids=BROKEN)
def test_a_file_that_is_no_json_is_refused(tmp_path: Path, raw: bytes) -> None:
    path = tmp_path / "day.json"
    path.write_bytes(raw)
    with pytest.raises(FileRefused, match=r"day\.json: is not JSON"):
        read_instance(path)


def test_json_that_is_no_object_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileRefused, match="one JSON object"):
        read_instance(written(tmp_path / "day.json", [DOCUMENT]))


def test_a_file_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileRefused, match="cannot be read: No such file"):
        read_instance(tmp_path / "day.json")
