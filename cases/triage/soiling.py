"""What a complaint leaves on boots, clothes and car, so that clean farms come before dirty ones.

Common practice [cp]: the young and healthy first, then ordinary work, pneumonia and foot rot (1),
scour, abortion, orf and tuberculin tests (2), and a suspected notifiable disease alone and last (3).
"""

from collections.abc import Mapping
from functools import cache

from cases.triage.catalogue import Catalogue, catalogue
from cases.triage.tables import data_text, rows

FILE = "soiling.csv"
COLUMNS = ("code", "soiling", "source_keys")
SUSPECT = 3
LEVELS = frozenset("123")


def soiling_of(code: str) -> int:
    """Return 0 (clean) to 3 (suspect); a complaint that is not in the table leaves nothing."""
    return _own_table().get(code, 0)


@cache
def _own_table() -> Mapping[str, int]:
    return load_soiling(data_text(FILE), catalogue())


def load_soiling(text: str, complaints: Catalogue) -> dict[str, int]:
    """Read a table of soiling. Raises CatalogueError with row and column for anything it does not know."""
    found: dict[str, int] = {}
    for row in rows(FILE, text, COLUMNS):
        code = row.text("code")
        if code not in complaints or code in found:
            raise row.refused("code", f"{code!r} is no complaint, or is in the table twice")
        found[code] = int(row.one_of("soiling", LEVELS))
    return found
