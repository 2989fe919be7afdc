"""The two signs by which a vet names an offer in a text message."""

from cases.followups.codes import SIGNS

SPREAD = 331  # shares no factor with the number of codes, so that neighbours get codes far apart


def code_of(offer_id: int) -> str:
    """Return the two signs by which a vet names an offer. It comes again after 729 offers."""
    number = offer_id * SPREAD % len(SIGNS) ** 2
    return SIGNS[number // len(SIGNS)] + SIGNS[number % len(SIGNS)]
