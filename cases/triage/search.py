"""Finding a complaint by what was said: trade words, the caller's words or the code."""

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from difflib import SequenceMatcher
from functools import cache

from cases.triage.catalogue import Catalogue, Complaint, catalogue

WORD = re.compile(r"[a-z0-9]+")
# Words that say nothing about which complaint is meant.
SMALL_WORDS = frozenset(
    {
        "a", "an", "and", "any", "at", "be", "been", "but", "by", "can", "cant", "for", "from", "had", "has",
        "hasnt", "have", "he", "her", "him", "his", "i", "in", "is", "it", "its", "ive", "my", "no", "not",
        "of", "off", "on", "or", "our", "she", "shes", "so", "some", "the", "their", "them", "they", "this", "to",
        "up", "us", "was", "we", "were", "with", "yes",
    }
)  # fmt: skip
NEAR = 0.8
TEXT_LIMIT = 200


@dataclass(frozen=True)
class Found:
    """A complaint and how well it fits; a higher score fits better."""

    complaint: Complaint
    score: float


@dataclass(frozen=True)
class _Entry:
    complaint: Complaint
    name: frozenset[str]
    said: frozenset[str]


def search(
    text: str, *, species: str | None = None, limit: int = 8, complaints: Catalogue | None = None
) -> tuple[Found, ...]:
    """Return the complaints that fit best, best first; word order and small slips do not matter."""
    wanted = _words(text[:TEXT_LIMIT])
    if not wanted:
        return ()
    entries = _own_index() if complaints is None else tuple(_index(complaints))
    of_species = (entry for entry in entries if species is None or species in entry.complaint.species)
    found = [Found(entry.complaint, _score(entry, wanted)) for entry in of_species]
    fitting = [each for each in found if each.score > 0]
    fitting.sort(key=lambda each: (-each.score, each.complaint.base_class, each.complaint.code))
    return tuple(fitting[:limit])


@cache
def _own_index() -> tuple[_Entry, ...]:
    return tuple(_index(catalogue()))


def _index(complaints: Catalogue) -> Iterator[_Entry]:
    for complaint in complaints:
        name = f"{complaint.trade_name} {complaint.code}"
        yield _Entry(complaint, frozenset(_words(name)), frozenset(_words(complaint.caller_says)))


def _words(text: str) -> list[str]:
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().lower()
    words = WORD.findall(plain.replace("'", "").replace("_", " "))
    return [word for word in dict.fromkeys(words) if word not in SMALL_WORDS]


def _score(entry: _Entry, wanted: list[str]) -> float:
    """Share of the wanted words that fit; a name word counts double a caller's word."""
    total = sum(max(2 * _fit(word, entry.name), _fit(word, entry.said)) for word in wanted)
    return round(total / (2 * len(wanted)), 4)


def _fit(word: str, known: frozenset[str]) -> float:
    """1 for the word itself, less for its beginning or a near spelling, 0 for no likeness."""
    if word in known:
        return 1.0
    if len(word) < 3:
        return 0.0
    if any(each.startswith(word) for each in known):
        return 0.9
    if len(word) < 4:
        return 0.0
    best = max(
        (SequenceMatcher(None, word, each).ratio() for each in known if abs(len(each) - len(word)) <= 2),
        default=0.0,
    )
    return best * 0.8 if best >= NEAR else 0.0
