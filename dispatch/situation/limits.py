"""The latest a vet may be home by in a plan, and the latest that leaves the night unbroken.

Rest rules are hard. Two things are not: the end of a shift has some leeway, for nobody is called
off a job by the clock; and the unbroken hours of a night on call carry their own remedy, the
morning off, so a broken night is said, and owed, but bars nobody from a call at 02:00. A practice
that takes the on-call rules in place of daily rest has them as a hard limit.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

from rotas.rest.limits import Limit, VetLimits
from rotas.rest.rules import Measure

SHIFT_LEEWAY = timedelta(minutes=60)
"""Work is planned no further past the end of a shift [cp]; every minute past it has its price as well."""
SHIFT_END = "SHIFT_END"


@dataclass(frozen=True)
class HomeLimit:
    """Home by `at`, for a reason in words; `rule` is the rule's id as an exception names it."""

    at: datetime
    reason: str
    rule: str


def home_limit(limits: VetLimits | None, *, night_is_hard: bool = False) -> HomeLimit | None:
    """Return the hard limit that comes first; None when nothing bounds the vet."""
    found = [_of(limit) for limit in limits.limits if night_is_hard or not _is_night(limit)] if limits else []
    return min(found, key=lambda limit: limit.at, default=None)


def unbroken_night(limits: VetLimits | None) -> HomeLimit | None:
    """Return the latest to be home by that keeps the night's unbroken hours; None when they are safe."""
    found = [_of(limit) for limit in limits.limits if _is_night(limit)] if limits else []
    return min(found, key=lambda limit: limit.at, default=None)


def _is_night(limit: Limit) -> bool:
    return limit.rule is not None and limit.rule.measure == Measure.ON_CALL_NIGHT_REST


def _of(limit: Limit) -> HomeLimit:
    if limit.rule is not None:
        return HomeLimit(limit.at, limit.reason, limit.rule.rule_id)
    leeway = int(SHIFT_LEEWAY.total_seconds() // 60)
    return HomeLimit(limit.at + SHIFT_LEEWAY, f"{limit.reason} and {leeway} min at most", SHIFT_END)
