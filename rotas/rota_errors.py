"""Refusals of rotas, swaps and leave: each with what to do, and the facts for a page or a program."""

from collections.abc import Iterable
from typing import Any

from rotas.errors import DeskError

SHOWN = 3  # broken rules named in the sentence; all are in the facts


class RulesBroken(DeskError):
    """A rule would be broken. `facts["broken"]` has every sentence."""

    code = "rules_broken"
    title = "A rule would be broken"

    def __init__(self, broken: Iterable[str], what_to_do: str, **facts: Any) -> None:
        sentences = list(broken)
        more = len(sentences) - SHOWN
        told = " ".join(sentences[:SHOWN]) + (f" And {more} more." if more > 0 else "")
        super().__init__(f"{told} {what_to_do}".strip(), broken=sentences, **facts)


class GapsLeft(DeskError):
    """Cover is missing in a rota that is to be published. `facts["gaps"]` has every sentence."""

    code = "gaps_left"
    title = "Nobody has some of the duties"

    def __init__(self, gaps: Iterable[str]) -> None:
        sentences = list(gaps)
        told = " ".join(sentences[:SHOWN])
        what_to_do = "Fill the gaps, or say that the rota is to go out with them."
        super().__init__(f"{told} {len(sentences)} in all. {what_to_do}", gaps=sentences)


class NotADraft(DeskError):
    """What only a draft allows was asked of another rota."""

    code = "not_a_draft"
    title = "The rota is no draft any more"
    message = "The rota {name} is {state}. Change single duties by a swap, or put duties on and off by hand."


class RotaOverlaps(DeskError):
    """Another rota is published for some of the days."""

    code = "rota_overlaps"
    title = "Another rota is published for these days"
    message = "{other} is published from {first} to {last}. Withdraw it first, or draft other days."


class SwapOpen(DeskError):
    """The duty is in another swap that has not ended."""

    code = "swap_open"
    title = "The duty is in another swap"
    message = "{duty} is in an open swap with {vet} already. Withdraw or answer that one first."


class TooLate(DeskError):
    """The duty has begun, or has been taken off the rota or given away."""

    code = "too_late"
    title = "The duty can no longer be moved"
    message = "{duty} has begun or is no longer on the rota like this. Reload to see who has it."


class LeaveConflicts(DeskError):
    """Approving leave would leave something uncovered. `facts["conflicts"]` has every sentence."""

    code = "leave_conflicts"
    title = "The leave conflicts with the cover"

    def __init__(self, conflicts: Iterable[str]) -> None:
        sentences = list(conflicts)
        told = " ".join(sentences[:SHOWN])
        super().__init__(f"{told} Refuse it, or approve it in spite of this.", conflicts=sentences)


class ProposalOutdated(DeskError):
    """The rota has changed since the proposal was made."""

    code = "proposal_outdated"
    title = "The rota has changed since"
    message = "{duty} has changed since this was proposed. Ask for a new proposal."
