"""The practice month by month: raw sums over all vets, so that it shows where staffing is going."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from rotas.fatigue_report.row import Judgement
from rotas.rest.intervals import ZERO, DutyKind, Span, clip, total
from rotas.rest.localtime import day_span
from rotas.rest.measure import worked_in


@dataclass(frozen=True)
class Month:
    """One calendar month, or what has passed of it (`whole` False). Sums over the vets reported on.

    `broken_nights` are nights on call that left too little rest, `breaches` every limit passed, `signed`
    those passed by somebody's word; `owed` came up in the month, `given_back` was taken in it.
    """

    first: date
    whole: bool
    worked: timedelta
    standby: timedelta
    call_outs: int
    disturbed_nights: int
    broken_nights: int
    breaches: int
    signed: int
    owed: timedelta
    given_back: timedelta


def trend(judged: Iterable[Judgement], first: date, last: date) -> tuple[Month, ...]:
    """Return the months that hold the days first to last, in order."""
    everyone = tuple(judged)
    return tuple(_month(everyone, month, last) for month in _months(first, last))


def _months(first: date, last: date) -> Iterable[date]:
    month = first.replace(day=1)
    while month <= last:
        yield month
        month = _next(month)


def _next(month: date) -> date:
    return (month + timedelta(days=31)).replace(day=1)


def _month(everyone: tuple[Judgement, ...], first: date, last: date) -> Month:
    end = _next(first)
    parts = [_part(judged, first, end) for judged in everyone]
    return Month(
        first=first,
        whole=end - timedelta(days=1) <= last,
        worked=sum((part.worked for part in parts), ZERO),
        standby=sum((part.standby for part in parts), ZERO),
        call_outs=sum(part.call_outs for part in parts),
        disturbed_nights=sum(part.disturbed_nights for part in parts),
        broken_nights=sum(part.broken_nights for part in parts),
        breaches=sum(part.breaches for part in parts),
        signed=sum(part.signed for part in parts),
        owed=sum((part.owed for part in parts), ZERO),
        given_back=sum((part.given_back for part in parts), ZERO),
    )


def _part(judged: Judgement, first: date, end: date) -> Month:
    """Return one vet's month. A night belongs to the month of its evening, all else to its moment."""
    log, tz = judged.log, judged.asked.tz
    month = Span(day_span(first, tz).start, min(day_span(end, tz).start, judged.asked.until))

    def inside(moment: datetime | None) -> bool:
        return moment is not None and month.start <= moment < month.end

    return Month(
        first=first,
        whole=True,
        worked=worked_in(log, month),
        standby=total(clip(log.standby, month)),
        call_outs=sum(duty.kind == DutyKind.CALL_OUT and inside(duty.start) for duty in log.duties),
        disturbed_nights=sum(first <= evening < end for evening in judged.disturbed),
        broken_nights=sum(first <= night.evening < end for night in judged.broken_nights),
        breaches=sum(inside(breach.moment) for breach in judged.breaches),
        signed=sum(inside(each.at) for each in judged.kept.signed),
        owed=sum((each.amount for each in judged.kept.owed if inside(each.owed_from)), ZERO),
        given_back=sum((each.amount for each in judged.kept.owed if inside(each.taken_at)), ZERO),
    )
