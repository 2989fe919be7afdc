"""The list of dangers in DEVELOPERS.md names every test of a danger, and no test that is not there."""

import re
from pathlib import Path

ROOT = Path(__file__).parents[2]
TESTS = ROOT / "tests" / "cases" / "services"


def test_every_danger_is_listed_with_its_test() -> None:
    section = (ROOT / "DEVELOPERS.md").read_text().partition("## Dangers")[2].partition("\n## ")[0]
    listed = re.findall(r"^\| .+ \| `(\w+)` \|$", section, re.MULTILINE)
    written = [
        name
        for file in TESTS.glob("test_dangers_*.py")
        for name in re.findall(r"^def test_(\w+)", file.read_text(), re.MULTILINE)
    ]
    assert len(written) > 70
    assert sorted(listed) == sorted(written)
