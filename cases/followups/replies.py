"""What a farm's text message says to one of its own checks: "1 K4T", "2 K4T she is down", "fine"."""

import re
from dataclasses import dataclass

from cases.followups.codes import number_of

_FINE = re.compile(r"(?:1|fine)\b[\s.,:;!-]*(.*)", re.IGNORECASE | re.DOTALL)
_NOT_FINE = re.compile(r"(?:2|not[\s-]+fine)\b[\s.,:;!-]*(.*)", re.IGNORECASE | re.DOTALL)


@dataclass(frozen=True)
class Said:
    """The answer. `recheck` is the key that its code names, None for none; `rest` is all after 1 or 2.

    A word may look like a code, so whoever finds no check of the farm by it reads `rest` as words.
    """

    fine: bool
    recheck: int | None
    words: str
    rest: str


def read_reply(text: str) -> Said | None:
    """Return what the message says, None where it is no answer to a check."""
    for fine, pattern in ((True, _FINE), (False, _NOT_FINE)):
        found = pattern.fullmatch(text.strip())
        if found:
            return _with_code(fine, found.group(1).strip())
    return None


def _with_code(fine: bool, rest: str) -> Said:
    first, _, words = rest.partition(" ")
    recheck = number_of(first.strip(".,:;!-"))
    return Said(fine, recheck, words.strip() if recheck is not None else rest, rest)
