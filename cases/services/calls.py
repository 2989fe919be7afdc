"""Everything that happens to a call except a visit; each is one transaction and one audit line."""

from cases.services.call_ends import cancel_call, defer_call, give_advice, hand_over_call, resume_call
from cases.services.taking import take_call
from cases.services.telephones import find_caller
from cases.services.triage_again import confirm_lower, reassess, say_farm

__all__ = [
    "cancel_call",
    "confirm_lower",
    "defer_call",
    "find_caller",
    "give_advice",
    "hand_over_call",
    "reassess",
    "resume_call",
    "say_farm",
    "take_call",
]
