"""What is due is sent, sent as late news, or closed with a reason: nothing is told that has become untrue."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

STILL_NEWS = timedelta(days=7)  # so long after its moment, "it has been clear since" is worth telling [cp]


class Kind(StrEnum):
    """What a reminder is about."""

    GIVEN = "given"
    MILK_ENDS = "milk_ends"
    MEAT_ENDS = "meat_ends"
    EGGS_ENDS = "eggs_ends"
    CHANGED = "changed"
    RECHECK = "recheck"
    NOT_YET = "not_yet"
    SALE_HELD = "sale_held"
    MEAT_SOON = "meat_soon"
    LONG_HOLD = "long_hold"
    HELD = "held"


ENDS = frozenset({Kind.MILK_ENDS, Kind.MEAT_ENDS, Kind.EGGS_ENDS})
SALES = frozenset({Kind.NOT_YET, Kind.SALE_HELD})


@dataclass(frozen=True)
class Standing:
    """How things stand when a reminder comes due.

    `about_at` is the moment that it is about: the milking, the day, the collection. `clear_at` is when
    the produce may be sold, None where there is no date; `held` says whether anything holds it at that
    moment, and `holder` says what forbids to say "may be sold" although its own withdrawal is over.
    """

    about_at: datetime
    replaced: bool = False
    left: bool = False
    recheck_open: bool = True
    held: bool = True
    holder: str = ""
    clear_at: datetime | None = None
    sale_ended: bool = False
    newest: bool = True


@dataclass(frozen=True)
class Verdict:
    """Send it (`late`: as what has been so since), or close it for the reason."""

    send: bool
    late: bool = False
    why: str = ""


SEND, LATE = Verdict(True), Verdict(True, late=True)


def judge(kind: Kind, standing: Standing, now: datetime) -> Verdict:
    """Return what to do with a reminder that has come due."""
    why = _why_not(kind, standing, now)
    if why:
        return Verdict(False, why=why)
    return LATE if kind in ENDS and standing.about_at <= now else SEND


def _why_not(kind: Kind, standing: Standing, now: datetime) -> str:
    if standing.replaced:
        return "replaced by a correction"
    if kind is Kind.RECHECK:
        return "" if standing.recheck_open else "the recheck is closed already"
    if standing.left and kind not in (Kind.GIVEN, Kind.CHANGED, Kind.HELD):
        return "the animal has left the farm"
    if kind in ENDS:
        return _why_no_end(standing, now)
    if kind in SALES:
        return _why_no_warning(standing, now)
    if kind is Kind.MEAT_SOON:
        return _why_not_soon(standing, now)
    if kind is Kind.LONG_HOLD:
        return _why_not_long(standing)
    return "nothing is held any more" if kind is Kind.HELD and not standing.held else ""


def _why_no_end(standing: Standing, now: datetime) -> str:
    """Never say "may be sold" while anything holds the animal longer, or of a date that has moved."""
    if standing.holder:
        return standing.holder
    if standing.clear_at is None:
        return "there is no date any more"
    if standing.clear_at != standing.about_at:
        return "the date has changed"
    if now - standing.about_at > STILL_NEWS:
        return f"it has been clear for more than {STILL_NEWS.days} days"
    return ""


def _why_no_warning(standing: Standing, now: datetime) -> str:
    if standing.sale_ended:
        return "the sale or collection was called off"
    if now >= standing.about_at:
        return "the sale or collection is past"
    if not standing.held or (standing.clear_at is not None and standing.clear_at <= standing.about_at):
        return "nothing is held any more at that time"
    return ""


def _why_not_soon(standing: Standing, now: datetime) -> str:
    if standing.sale_ended:
        return "the sale was called off"
    if not standing.held or standing.clear_at is None:
        return "there is no date to tell"
    if standing.clear_at != standing.about_at:
        return "the date has changed"
    return "it is clear already" if standing.clear_at <= now else ""


def _why_not_long(standing: Standing) -> str:
    if not standing.held:
        return "nothing is held any more"
    return "" if standing.newest else "a later month is told instead"
