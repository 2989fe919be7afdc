"""A message as a text: within a few parts, in letters that every telephone shows, and no date cut off.

A part holds 160 letters of the GSM 7-bit alphabet alone, 153 where there are several; 70 and 67 where a
letter lies outside that alphabet (3GPP TS 23.038 and 23.040, from memory).
"""

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

MOST_PARTS = 3
BASIC = frozenset(
    "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?¡ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    "ÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà"
)
EXTENDED = frozenset("^{}\\[~]|€\f")  # each counts for two
PLAIN = str.maketrans(
    {"\u2018": "'", "\u2019": "'", "\u201c": '"', "\u201d": '"', "\u2013": "-", "\u2014": "-", "\u00a0": " "}
)  # quotes, dashes and the fixed blank as a typewriter has them


def folded(text: str) -> str:
    """Return the text with letters of the GSM alphabet where there is one to stand for them."""
    return "".join(_folded(letter) for letter in text.translate(PLAIN))


def _folded(letter: str) -> str:
    if letter in BASIC or letter in EXTENDED:
        return letter
    bare = "".join(part for part in unicodedata.normalize("NFKD", letter) if not unicodedata.combining(part))
    return bare if bare and all(part in BASIC for part in bare) else letter


def parts_of(text: str) -> int:
    """Return in how many parts a text goes."""
    if all(letter in BASIC or letter in EXTENDED for letter in text):
        septets = sum(2 if letter in EXTENDED else 1 for letter in text)
        return 1 if septets <= 160 else ceil(septets / 153)
    units = len(text.encode("utf-16-be")) // 2
    return 1 if units <= 70 else ceil(units / 67)


@dataclass(frozen=True)
class Lines:
    """What a text would say: a head, one line for each thing told, and how to answer.

    `instead` stands for all the lines where they do not fit.
    """

    head: str
    told: Sequence[str]
    instead: str
    tail: str


def short_text(lines: Lines, most_parts: int = MOST_PARTS) -> str:
    """Return every line whole, or `instead` for all of them: a date is told in full or not at all."""
    whole = _joined(lines.head, *lines.told, lines.tail)
    if parts_of(whole) <= most_parts:
        return whole
    return _joined(lines.head, lines.instead, lines.tail)


def _joined(*lines: str) -> str:
    return folded("\n".join(" ".join(line.split()) for line in lines if line.strip()))
