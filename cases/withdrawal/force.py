"""A shorter date waits: it counts only from the moment at which it comes into force."""

from dataclasses import replace
from datetime import datetime, tzinfo

from cases.withdrawal.clock import instant, shown
from cases.withdrawal.herd import NO_HERD, Milking
from cases.withdrawal.periods import Commodity
from cases.withdrawal.withdrawal import Withdrawal


def not_sooner_than(row: Withdrawal, moment: datetime, herd: Milking | None, tz: tzinfo) -> Withdrawal:
    """Return the withdrawal with nothing saleable before the moment, by milkings where they are known."""
    clear_at = row.first_saleable_at or row.ends_at
    if row.ends_at is None or clear_at is None or clear_at >= instant(moment):
        return row
    milking = None
    if row.commodity == Commodity.MILK:
        milking = (herd or NO_HERD).first_at_or_after(moment, tz)
    why = f"A vet signed this shorter date; it counts from {shown(moment, tz)}, the longer one until then."
    return replace(row, first_saleable_at=milking or instant(moment), reasons=(*row.reasons, why))
