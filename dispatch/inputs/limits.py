"""The latest a vet may be home by, in a plan: every rest rule, and the end of the shift with some leeway."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from rotas.rest.limits import Limit, VetLimits

SHIFT_LEEWAY = timedelta(minutes=60)
"""Nobody is called off a job because the shift ends, but no work is planned further past it [cp].

Every minute past the end of the shift has its price in the plan all the same.
"""
SHIFT_END = "SHIFT_END"


@dataclass(frozen=True)
class HomeLimit:
    """Home by `at`, for a reason in words; `rule` is the rule's id as an exception names it."""

    at: datetime
    reason: str
    rule: str


def home_limit(limits: VetLimits | None) -> HomeLimit | None:
    """Return the limit that binds first; None when nothing does."""
    found = [_of(limit) for limit in limits.limits] if limits else []
    return min(found, key=lambda limit: limit.at, default=None)


def _of(limit: Limit) -> HomeLimit:
    if limit.rule is not None:
        return HomeLimit(limit.at, limit.reason, limit.rule.rule_id)
    leeway = int(SHIFT_LEEWAY.total_seconds() // 60)
    return HomeLimit(limit.at + SHIFT_LEEWAY, f"{limit.reason} and {leeway} min at most", SHIFT_END)
