"""Tables of the top floor: who goes where, now."""

from dispatch.models.offer import DeclineReason, Offer, OfferState
from dispatch.models.plan import Plan, PlanTurn

__all__ = ["DeclineReason", "Offer", "OfferState", "Plan", "PlanTurn"]
