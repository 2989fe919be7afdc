"""Several medicines, several animals: which date governs a commodity, an animal and a pen."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from enum import StrEnum

from cases.withdrawal.periods import Commodity
from cases.withdrawal.withdrawal import State, WaitsFor, Withdrawal

OPENNESS = {State.RUNNING: 0, State.NEEDS_VET: 1, State.NOT_FOR_USE: 2}


def combine(withdrawals: Iterable[Withdrawal]) -> tuple[Withdrawal, ...]:
    """Return what governs each commodity of one animal: the latest end, not the longest label.

    One without an end outranks all that have one. A new dose restarts only its own clock.
    """
    rows = tuple(withdrawals)
    return tuple(
        _governing([row for row in rows if row.commodity == commodity])
        for commodity in Commodity
        if any(row.commodity == commodity for row in rows)
    )


def _governing(rows: list[Withdrawal]) -> Withdrawal:
    *earlier, last = sorted(rows, key=lambda row: (_rank(row), row.medicine))
    others = tuple(f"{row.medicine} is over earlier." for row in earlier if row.medicine != last.medicine)
    return replace(
        last,
        out_from=min(row.out_from for row in rows),
        first_saleable_at=_latest(row.first_saleable_at for row in rows) if last.ends_at else None,
        not_before=None if last.ends_at else _latest(row.ends_at or row.not_before for row in rows),
        reasons=(*last.reasons, *others) if last.ends_at else _open_reasons([*earlier, last]),
    )


def _rank(row: Withdrawal) -> tuple[int, float, float]:
    return (
        OPENNESS[row.state],
        row.ends_at.timestamp() if row.ends_at else 0.0,
        row.first_saleable_at.timestamp() if row.first_saleable_at else 0.0,
    )


def _latest(moments: Iterable[datetime | None]) -> datetime | None:
    return max((moment for moment in moments if moment is not None), default=None)


def _open_reasons(rows: list[Withdrawal]) -> tuple[str, ...]:
    """Name every open withdrawal: each one alone holds the produce."""
    return tuple(
        f"{row.medicine}: {reason}" for row in rows if row.state != State.RUNNING for reason in row.reasons
    )


@dataclass(frozen=True)
class PenDate:
    """When one commodity of a whole pen is clear. `ends_at` is None while any animal's end is open.

    `own` holds each identified animal's own end; it is empty when identity is lost, because then
    nobody leaves before the last.
    """

    commodity: Commodity
    ends_at: datetime | None
    first_full_day: date | None
    own: Mapping[str, Withdrawal]
    sentence: str


def pen_dates(animals: Mapping[str, Iterable[Withdrawal]], *, all_identified: bool) -> tuple[PenDate, ...]:
    """Return the pen's date per commodity from every animal's own rows, wherever it was treated.

    Animals take their rows along when they move, so pass the rows of those standing in the pen.
    `all_identified` is false when a tag is missing or unread: then the latest end holds them all.
    """
    governing = {name: combine(rows) for name, rows in animals.items()}
    return tuple(
        _pen_date(commodity, own, all_identified)
        for commodity in Commodity
        if (
            own := {
                name: row for name, rows in governing.items() for row in rows if row.commodity == commodity
            }
        )
    )


def _pen_date(commodity: Commodity, own: dict[str, Withdrawal], all_identified: bool) -> PenDate:
    last = max(own.values(), key=_rank)
    sentence = (
        "Each animal goes by its own date; the pen is clear with the last."
        if all_identified
        else "A tag is missing or unread: the whole pen is held until the last date in it."
    )
    return PenDate(commodity, last.ends_at, last.first_full_day, own if all_identified else {}, sentence)


class Change(StrEnum):
    """What a correction does to a date that people already hold."""

    SAME = "same"
    LENGTHENS = "lengthens"
    SHORTENS = "shortens"


def change_between(before: Withdrawal, now: Withdrawal) -> Change:
    """Compare two answers for one commodity. What lengthens is told at once; what shortens needs a vet."""
    if _rank(now) == _rank(before):
        return Change.SAME
    return Change.LENGTHENS if _rank(now) > _rank(before) else Change.SHORTENS


def after_residue_test(row: Withdrawal, *, clear: bool) -> Withdrawal:
    """Return the withdrawal after a residue test. A clear test never shortens; a fail opens the end again."""
    if clear:
        return replace(row, reasons=(*row.reasons, "A clear test does not shorten this time."))
    return replace(
        row,
        state=max(row.state, State.NEEDS_VET, key=OPENNESS.__getitem__),
        ends_at=None,
        first_saleable_at=None,
        first_full_day=None,
        not_before=row.ends_at or row.not_before,
        waits_for=WaitsFor.VET,
        reasons=("A residue test failed: keep the produce out until the vet sets a new date.", *row.reasons),
    )
