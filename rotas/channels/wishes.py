"""By which of a receiver's addresses a message goes, and by which other one if it does not arrive.

One rule for everybody who is told: what they wish, if a line stands for it; else their next address
for which one stands; else nobody can be written to and somebody rings.
"""

from collections.abc import Collection, Iterable
from typing import NamedTuple

CALL, BOTH = "call", "both"  # wishes that are no channel: to be rung, and to be told by every way


class Address(NamedTuple):
    """Where one channel reaches a person: an e-mail address, or a number in E.164."""

    channel: str
    address: str


class Chosen(NamedTuple):
    """The address that a message goes to, and the one that it goes to where this one fails for good."""

    first: Address
    other: Address | None = None


def as_wished(wish: str, known: Iterable[Address], usable: Collection[str]) -> list[Chosen]:
    """Return where a message goes: one address, or each where the wish is `BOTH`; none: ring them.

    `known` stands in the order in which it is tried where nothing is wished; a blank address is none.
    `usable` names the channels for which a line is set up now. What goes by every way has no other one.
    """
    there = [each for each in dict.fromkeys(known) if each.address and each.channel in usable]
    if wish == CALL or not there:
        return []
    if wish == BOTH:
        return [Chosen(each) for each in there]
    first, *others = sorted(there, key=lambda each: each.channel != wish)
    return [Chosen(first, next((each for each in others if each.channel != first.channel), None))]
