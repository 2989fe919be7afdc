"""The versions of the follow-up table: what is owed keeps the version that it came from.

A released table is never edited: a change is a new file and a new line of `data/versions.csv`, whose digest
is of the text with plain line ends.
"""

import csv
import io
import re
from dataclasses import dataclass
from datetime import date
from functools import cache
from hashlib import sha256
from importlib.resources import files
from importlib.resources.abc import Traversable

from cases.followups.errors import FollowupError, TableError
from cases.followups.templates import Template, load_templates

VERSION_COLUMNS = ("version", "since", "file", "sha256", "what_changed")
VERSIONS = "versions.csv"
NAME = re.compile(r"[0-9]{4}\.[1-9][0-9]*")


@dataclass(frozen=True)
class Table:
    """One version of the table. `since` is the day from which new rechecks are planned by it."""

    version: str
    since: date
    what_changed: str
    templates: dict[str, Template]

    @property
    def steps(self) -> int:
        """How many steps all its templates have."""
        return sum(len(template.steps) for template in self.templates.values())


@cache
def tables() -> dict[str, Table]:
    """Return every version by name, the oldest first, read and checked once for the whole process."""
    return load_tables(files("cases.followups").joinpath("data"))


def table_now() -> Table:
    """Return the newest version, by which new rechecks are planned."""
    return list(tables().values())[-1]


def table_of(version: str) -> Table:
    """Return one version. Raises FollowupError for one that was never released."""
    found = tables().get(version)
    if found is None:
        raise FollowupError("version", f"There is no follow-up table {version!r}.")
    return found


def templates() -> dict[str, Template]:
    """Return the templates of the newest version by code."""
    return table_now().templates


def template_for(code: str, version: str | None = None) -> Template:
    """Return one template, of the newest version unless said. Raises FollowupError for an unknown one."""
    found = (table_now() if version is None else table_of(version)).templates.get(code)
    if found is None:
        raise FollowupError("template", f"There is no follow-up template with the code {code!r}.")
    return found


def load_tables(folder: Traversable) -> dict[str, Table]:
    """Read every version that `versions.csv` names. Raises TableError for what cannot be meant."""
    reader = csv.DictReader(io.StringIO(_text(folder, VERSIONS)), strict=True)
    if tuple(reader.fieldnames or ()) != VERSION_COLUMNS:
        raise TableError(1, "heading", f"the columns must be {', '.join(VERSION_COLUMNS)}", VERSIONS)
    read: dict[str, Table] = {}
    for number, cells in enumerate(reader, start=2):
        table = _table(folder, number, cells)
        _require_later(table, read, number)
        read[table.version] = table
    if not read:
        raise TableError(1, "version", "there must be at least one version", VERSIONS)
    return read


def _table(folder: Traversable, number: int, cells: dict[str, str]) -> Table:
    if None in cells or None in cells.values():
        raise TableError(number, "version", f"the line needs exactly {len(VERSION_COLUMNS)} cells", VERSIONS)
    for column, cell in cells.items():
        if not cell.strip():
            raise TableError(number, column, "must not be blank", VERSIONS)
    if not NAME.fullmatch(cells["version"]):
        raise TableError(number, "version", f"{cells['version']!r} is not like 2026.1", VERSIONS)
    text = _text(folder, cells["file"], number)
    if sha256(text.encode()).hexdigest() != cells["sha256"]:
        problem = f"{cells['file']} was changed after its release; put the change into a new version"
        raise TableError(number, "sha256", problem, VERSIONS)
    return Table(
        cells["version"], _since(cells["since"], number), cells["what_changed"], load_templates(text)
    )


def _since(cell: str, number: int) -> date:
    try:
        return date.fromisoformat(cell)
    except ValueError:
        raise TableError(number, "since", f"{cell!r} is not a day such as 2026-03-01", VERSIONS) from None


def _require_later(table: Table, read: dict[str, Table], number: int) -> None:
    before = list(read.values())[-1] if read else None
    if before is None:
        return
    if _order(table.version) <= _order(before.version):
        raise TableError(number, "version", f"must come after {before.version}", VERSIONS)
    if table.since < before.since:
        raise TableError(number, "since", f"must not lie before that of {before.version}", VERSIONS)


def _order(version: str) -> tuple[int, ...]:
    return tuple(int(part) for part in version.split("."))


def _text(folder: Traversable, name: str, number: int = 0) -> str:
    try:
        return folder.joinpath(name).read_text(encoding="utf-8")
    except (FileNotFoundError, IsADirectoryError):
        raise TableError(number, "file", f"there is no file {name!r}", VERSIONS) from None
