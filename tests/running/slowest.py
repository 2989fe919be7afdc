"""Which files of tests take longest, with what is set up for them; shown where ``--durations`` asks."""

from collections import Counter
from collections.abc import Iterable, Iterator
from typing import Any


def slowest_files(reports: Iterable[Any], shown: int) -> Iterator[str]:
    """Say the seconds and the tests of the slowest files; 0 shows all, as ``--durations`` has it."""
    seconds: Counter[str] = Counter()
    tests: Counter[str] = Counter()
    for report in reports:
        if hasattr(report, "duration") and hasattr(report, "when"):
            file = report.nodeid.partition("::")[0]
            seconds[file] += report.duration
            tests[file] += report.when == "call"
    for file, spent in seconds.most_common(shown or None):
        yield f"{spent:7.1f} s {tests[file]:5} tests  {file}"
