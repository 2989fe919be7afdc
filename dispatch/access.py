"""The doors to the rows of this floor. Another practice's row is simply not found."""

from typing import Any

from dispatch.models import Offer, Plan
from rotas.access import find
from rotas.models import Practice

_WITH = ("call__location", "vet__member", "vet__practice", "practice", "visit")


def offer_in(practice: Practice, pk: Any) -> Offer:
    """Return an offer of the practice by key."""
    return find(Offer.objects.select_related(*_WITH), pk=pk, practice=practice, what="offer")


def offer_for_update(practice: Practice, pk: Any) -> Offer:
    """Return the locked offer. Lock its call before it, and its vet after it."""
    rows = Offer.objects.select_for_update(of=("self",)).select_related(*_WITH)
    return find(rows, pk=pk, practice=practice, what="offer")


def plan_in(practice: Practice, pk: Any) -> Plan:
    """Return a plan of the practice by key."""
    return find(Plan.objects.all(), pk=pk, practice=practice, what="plan")


def plan_in_force(practice: Practice) -> Plan | None:
    """Return the practice's newest plan, or None before the first."""
    return Plan.objects.filter(practice=practice).newest()
