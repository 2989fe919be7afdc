"""The practice month by month: raw sums over all vets, so that it shows where staffing is going."""

from bisect import bisect_right
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from rotas.fatigue_report.row import Judgement
from rotas.rest.intervals import ZERO, DutyKind, Span, covered
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
    months = tuple(_months(first, last))
    counted = [_Counted.of(each, months) for each in judged]
    return tuple(_month(number, months, counted, last) for number in range(len(months)))


def _months(first: date, last: date) -> Iterator[date]:
    month = first.replace(day=1)
    while month <= last:
        yield month
        month = next_month(month)


def next_month(month: date) -> date:
    """Return the first day of the month after the one that begins on the day."""
    return (month + timedelta(days=31)).replace(day=1)


@dataclass(frozen=True)
class _Counted:
    """One vet's sums by the number of the month."""

    worked: list[timedelta]
    standby: list[timedelta]
    call_outs: Counter[int]
    disturbed: Counter[int]
    broken_nights: Counter[int]
    breaches: Counter[int]
    signed: Counter[int]
    owed: Counter[int]
    given_back: Counter[int]

    @classmethod
    def of(cls, judged: Judgement, months: tuple[date, ...]) -> "_Counted":
        """Count. A night belongs to the month of its evening, all else to the moment; rest in minutes."""
        log, until = judged.log, judged.asked.until
        starts = [day_span(month, log.tz).start for month in months]
        ends = [*starts[1:], day_span(next_month(months[-1]), log.tz).start]
        spans = [Span(start, min(end, until)) for start, end in zip(starts, ends, strict=True)]

        def counter(moments: Iterable[datetime | None]) -> Counter[int]:
            inside = (at for at in moments if at is not None and starts[0] <= at < spans[-1].end)
            return Counter(bisect_right(starts, at) - 1 for at in inside)

        def evenings(days: Iterable[date]) -> Counter[int]:
            return Counter(bisect_right(months, day) - 1 for day in days if day >= months[0])

        def minutes(pairs: Iterable[tuple[datetime | None, timedelta]]) -> Counter[int]:
            found: Counter[int] = Counter()
            for at, amount in pairs:
                for month in counter([at]):
                    found[month] += amount // timedelta(minutes=1)
            return found

        kept = judged.kept
        return cls(
            worked=[worked_in(log, span) for span in spans],
            standby=[covered(log.standby, span) for span in spans],
            call_outs=counter(duty.start for duty in log.duties if duty.kind == DutyKind.CALL_OUT),
            disturbed=evenings(judged.disturbed),
            broken_nights=evenings(night.evening for night in judged.broken_nights),
            breaches=counter(breach.moment for breach in judged.breaches),
            signed=counter(each.at for each in kept.signed),
            owed=minutes((each.owed_from, each.amount) for each in kept.owed),
            given_back=minutes((each.taken_at, each.amount) for each in kept.owed),
        )


def _month(number: int, months: tuple[date, ...], counted: list[_Counted], last: date) -> Month:
    first = months[number]

    def summed(name: str) -> int:
        return sum(getattr(each, name)[number] for each in counted)

    return Month(
        first=first,
        whole=next_month(first) - timedelta(days=1) <= last,
        worked=sum((each.worked[number] for each in counted), ZERO),
        standby=sum((each.standby[number] for each in counted), ZERO),
        call_outs=summed("call_outs"),
        disturbed_nights=summed("disturbed"),
        broken_nights=summed("broken_nights"),
        breaches=summed("breaches"),
        signed=summed("signed"),
        owed=timedelta(minutes=summed("owed")),
        given_back=timedelta(minutes=summed("given_back")),
    )
