"""Reading a published instance: comma text in sections, # begins a comment."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path
from typing import TypeVar

from rotas.builder.published.instance import Cover, Instance, Request, Shift, Staff
from rotas.builder.roster import RosterError

SECTIONS = (
    "HORIZON",
    "SHIFTS",
    "STAFF",
    "DAYS_OFF",
    "SHIFT_ON_REQUESTS",
    "SHIFT_OFF_REQUESTS",
    "COVER",
)
NEEDED = ("HORIZON", "SHIFTS", "STAFF", "COVER")
T = TypeVar("T")
Line = tuple[int, tuple[str, ...]]  # number of the line in the file, its fields


class FileRefused(RosterError):
    """A file that cannot be meant; `where` names the file and the line."""


def read_instance(path: Path) -> Instance:
    """Return the instance in the file, named by the file without its ending.

    Raises `FileRefused` with the line and the reason. Whether its people, shifts and days agree is
    for the adapter to say.
    """
    try:
        return parsed(path.stem, path.read_text(encoding="utf-8-sig"))
    except (OSError, UnicodeDecodeError) as error:
        raise FileRefused(path.name, f"cannot be read: {error}") from error
    except RosterError as error:
        raise FileRefused(f"{path.name}: {error.where}", error.reason) from error


def is_instance(path: Path) -> bool:
    """Whether the file has the sections of an instance; a roster or a table of values has none."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError):
        return False
    return any(line.startswith("SECTION_") for line in text.splitlines())


def parsed(name: str, text: str) -> Instance:
    """Return the instance in the text. Raises `RosterError` with the line and the reason."""
    sections = _sections(text)
    for section in NEEDED:
        if not sections.get(section):
            raise RosterError(f"section {section}", "is missing or empty")
    days_off = dict(_each(sections, "DAYS_OFF", _days_off))
    return Instance(
        name,
        next(iter(_each(sections, "HORIZON", _horizon))),
        tuple(_each(sections, "SHIFTS", _shift)),
        tuple(_each(sections, "STAFF", _staff)),
        days_off,
        (
            *_each(sections, "SHIFT_ON_REQUESTS", lambda fields: _request(fields, on=True)),
            *_each(sections, "SHIFT_OFF_REQUESTS", lambda fields: _request(fields, on=False)),
        ),
        tuple(_each(sections, "COVER", _cover)),
    )


def _sections(text: str) -> Mapping[str, list[Line]]:
    sections: dict[str, list[Line]] = {}
    section = ""
    for number, line in enumerate(text.splitlines(), start=1):
        line = line.strip()
        if not line or line.startswith("#"):
            continue
        if line.startswith("SECTION_"):
            section = line.removeprefix("SECTION_")
            if section not in SECTIONS:
                raise RosterError(f"line {number}", f"there is no section {section}")
            sections.setdefault(section, [])
        elif not section:
            raise RosterError(f"line {number}", "stands before the first section")
        else:
            sections[section].append((number, tuple(part.strip() for part in line.split(","))))
    return sections


def _each(
    sections: Mapping[str, list[Line]], section: str, read: Callable[[tuple[str, ...]], T]
) -> Iterator[T]:
    for number, fields in sections.get(section, ()):
        try:
            yield read(fields)
        except ValueError as error:  # too few fields, or one that is no number
            raise RosterError(f"line {number} ({section})", str(error)) from error


def _horizon(fields: tuple[str, ...]) -> int:
    (days,) = fields
    return int(days)


def _shift(fields: tuple[str, ...]) -> Shift:
    name, minutes, *rest = fields
    return Shift(name, int(minutes), frozenset(part for text in rest for part in text.split("|") if part))


def _staff(fields: tuple[str, ...]) -> Staff:
    name, most_shifts, *limits = fields
    most, least, *runs, weekends = (int(limit) for limit in limits)
    most_row, least_row, least_off = runs
    by_shift = dict(_most_shifts(most_shifts.split("|")))
    return Staff(name, by_shift, most, least, most_row, least_row, least_off, weekends)


def _most_shifts(parts: Iterable[str]) -> Iterator[tuple[str, int]]:
    for part in filter(None, parts):
        shift, _, most = part.partition("=")
        yield shift, int(most)


def _days_off(fields: tuple[str, ...]) -> tuple[str, frozenset[int]]:
    name, *days = fields
    return name, frozenset(int(day) for day in days)


def _request(fields: tuple[str, ...], on: bool) -> Request:
    name, day, shift, weight = fields
    return Request(name, int(day), shift, int(weight), on)


def _cover(fields: tuple[str, ...]) -> Cover:
    day, shift, wanted, under, over = fields
    return Cover(int(day), shift, int(wanted), int(under), int(over))
