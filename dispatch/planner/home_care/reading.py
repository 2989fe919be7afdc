"""Reading a home-care day from its JSON file, gzipped or not."""

import gzip
import json
import zlib
from pathlib import Path
from typing import Any

from dispatch.planner.home_care.instance import Caregiver, Instance, Patient, Service
from dispatch.planner.parameters import ProblemError, require

LARGEST = 1e9  # beyond it a thousandth is lost in sums


class FileRefused(ProblemError):
    """A file that cannot be meant; `where` names the file and the field."""


def read_instance(path: Path) -> Instance:
    """Return the day in the file, named by the file without its endings.

    Raises `FileRefused` with the field and the reason. A service without a duration takes the
    `default_duration` of the list of services.
    """
    document = read_document(path)
    try:
        return _instance(stem(path), document)
    except ProblemError as error:
        raise FileRefused(f"{path.name}: {error.where}", error.reason) from error


def stem(path: Path) -> str:
    """The file's name without .json or .json.gz."""
    return path.name.removesuffix(".gz").removesuffix(".json")


def read_document(path: Path) -> dict[str, Any]:
    """Return the JSON object in the file, whether it is gzipped or not."""
    try:
        raw = path.read_bytes()
        text = gzip.decompress(raw) if raw[:2] == b"\x1f\x8b" else raw
        document = json.loads(text)
    except OSError as error:
        raise FileRefused(path.name, f"cannot be read: {error.strerror or error}") from error
    except (EOFError, zlib.error, ValueError, RecursionError) as error:
        raise FileRefused(path.name, f"is not JSON: {error}") from error
    if not isinstance(document, dict):
        raise FileRefused(path.name, "must hold one JSON object")
    return document


def _instance(name: str, document: dict[str, Any]) -> Instance:
    offices = document.get("central_offices", [{}])
    require(isinstance(offices, list) and len(offices) == 1, "central_offices", "must be exactly one")
    defaults = _default_durations(document)
    return Instance(
        name,
        tuple(_patient(row, f"patients[{n}]", defaults) for n, row in _rows(document, "patients")),
        tuple(_caregiver(row, f"caregivers[{n}]") for n, row in _rows(document, "caregivers")),
        tuple(_distances(line, f"distances[{n}]") for n, line in enumerate(list_in(document, "distances"))),
    )


def _default_durations(document: dict[str, Any]) -> dict[str, float]:
    if "services" not in document:
        return {}
    return {
        text_in(row, "id", f"services[{n}]"): number_in(row, "default_duration", f"services[{n}]")
        for n, row in _rows(document, "services")
        if "default_duration" in row
    }


def _patient(row: dict[str, Any], at: str, defaults: dict[str, float]) -> Patient:
    name = text_in(row, "id", at)
    at = f"patient {name}"
    earliest, latest = _pair(row, "time_window", at)
    synchronization = row.get("synchronization") or {}
    require(isinstance(synchronization, dict), f"{at} synchronization", "must be an object with a type")
    kind = synchronization.get("type", "")
    sequential = kind == "sequential"
    return Patient(
        name,
        earliest,
        latest,
        tuple(
            _service(line, f"{at} required_caregivers[{n}]", defaults)
            for n, line in _rows(row, "required_caregivers", at)
        ),
        kind,
        _pair(synchronization, "distance", f"{at} synchronization") if sequential else (0.0, 0.0),
    )


def _service(row: dict[str, Any], at: str, defaults: dict[str, float]) -> Service:
    name = text_in(row, "service", at)
    if row.get("duration") is not None:
        return Service(name, number_in(row, "duration", at))
    require(name in defaults, f"{at} duration", f"is missing, and {name} has no default_duration")
    return Service(name, defaults[name])


def _caregiver(row: dict[str, Any], at: str) -> Caregiver:
    abilities = list_in(row, "abilities", at)
    require(all(isinstance(name, str) for name in abilities), f"{at} abilities", "must be names of services")
    return Caregiver(text_in(row, "id", at), frozenset(abilities))


def _distances(line: Any, at: str) -> tuple[float, ...]:
    require(isinstance(line, list), at, "must be a list of numbers")
    return tuple(_number(value, at) for value in line)


def list_in(row: dict[str, Any], field: str, at: str = "") -> list[Any]:
    """The list in this field of the object."""
    where = f"{at} {field}".strip()
    require(field in row, where, "is missing")
    require(isinstance(row[field], list), where, "must be a list")
    value: list[Any] = row[field]
    return value


def text_in(row: dict[str, Any], field: str, at: str) -> str:
    """The name in this field of the object."""
    value = row.get(field)
    require(isinstance(value, str) and value != "", f"{at} {field}", "must be a name")
    return str(value)


def number_in(row: dict[str, Any], field: str, at: str) -> float:
    """The number in this field of the object."""
    require(field in row, f"{at} {field}", "is missing")
    return _number(row[field], f"{at} {field}")


def _number(value: Any, at: str) -> float:
    sound = isinstance(value, int | float) and not isinstance(value, bool)
    require(sound and abs(value) <= LARGEST, at, "must be a number of ordinary size")
    return float(value)


def _rows(row: dict[str, Any], field: str, at: str = "") -> list[tuple[int, dict[str, Any]]]:
    rows = list_in(row, field, at)
    require(all(isinstance(item, dict) for item in rows), f"{at} {field}".strip(), "must hold objects")
    return list(enumerate(rows))


def _pair(row: dict[str, Any], field: str, at: str) -> tuple[float, float]:
    values = list_in(row, field, at)
    require(len(values) == 2, f"{at} {field}", "must be two numbers")
    first, second = (_number(value, f"{at} {field}") for value in values)
    return first, second
