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
        "of", "off", "on", "or", "our", "she", "shes", "so", "some", "the", "their", "them", "they", "this",
        "to", "up", "us", "was", "we", "were", "with", "yes",
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
    entries = _own_index() if complaints is None else tuple(_index(complaints))
    known = frozenset[str]().union(*(entry.name | entry.said for entry in entries))
    fits = [_fits(word, known) for word in wanted]
    of_species = (entry for entry in entries if species is None or species in entry.complaint.species)
    found = [Found(entry.complaint, _score(entry, fits)) for entry in of_species]
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


def _score(entry: _Entry, fits: list[dict[str, float]]) -> float:
    """Share of the wanted words that fit; a word of the name counts double a caller's word."""
    total = sum(max(2 * _best(fit, entry.name), _best(fit, entry.said)) for fit in fits)
    return round(total / (2 * len(fits)), 4) if fits else 0.0


def _best(fit: dict[str, float], words: frozenset[str]) -> float:
    return max((value for word, value in fit.items() if word in words), default=0.0)


def _fits(wanted: str, known: frozenset[str]) -> dict[str, float]:
    """Return how well each known word fits: 1 for the word itself, less for its beginning or a slip."""
    fits = {word: 0.9 for word in known if len(wanted) >= 3 and word.startswith(wanted)}
    if len(wanted) >= 4:
        near = (word for word in known if abs(len(word) - len(wanted)) <= 2 and word not in fits)
        fits.update((word, ratio * 0.8) for word in near if (ratio := _likeness(wanted, word)) >= NEAR)
    if wanted in known:
        fits[wanted] = 1.0
    return fits


def _likeness(one: str, other: str) -> float:
    matcher = SequenceMatcher(None, one, other, autojunk=False)
    return matcher.ratio() if matcher.real_quick_ratio() >= NEAR and matcher.quick_ratio() >= NEAR else 0.0
