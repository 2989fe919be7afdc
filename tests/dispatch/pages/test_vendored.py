"""Front-end files that others wrote are here exactly as they were published."""

from hashlib import sha256
from pathlib import Path

import pytest

VENDOR = Path(__file__).parents[3] / "dispatch" / "static" / "vendor"
LISTED = {
    name: digest
    for digest, name in (line.split(maxsplit=1) for line in (VENDOR / "sha256.txt").read_text().splitlines())
}


@pytest.mark.parametrize("name", sorted(LISTED))
def test_vendored_file_is_as_published(name):
    assert sha256((VENDOR / name).read_bytes()).hexdigest() == LISTED[name]


def test_no_vendored_file_is_unlisted():
    there = {f"./{path.relative_to(VENDOR)}" for path in VENDOR.rglob("*") if path.is_file()}
    assert there - {"./sha256.txt"} == set(LISTED)
