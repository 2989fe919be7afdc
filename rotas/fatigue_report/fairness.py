"""Who had how much of what nobody wants: the spread over the practice, pro rata, and no league table.

Counted over the twelve months to the end of the period, or since the day the practice chose. Nights,
weekends and bank holidays in the points that the rota itself is built by; beside them what only the
night shows: hours really worked late, and times woken.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from rotas.builder.counts import NIGHTS, counts, spreads_of
from rotas.builder.question import DAY, ON_CALL, Planned, RotaPerson, RotaQuestion, RotaRules, Slot, Spread
from rotas.fatigue_report.kept import Asked, Kept, Person, Rostered
from rotas.rest.awake import SETTLING
from rotas.rest.intervals import DutyKind, Span, clip, covered
from rotas.rest.localtime import day_span, hours, local_day, nights
from rotas.rest.report import DISTURBED_FROM, DISTURBED_UNTIL

LATE_FROM, LATE_UNTIL = time(22), time(6)
LATE_HOURS, WOKEN = "late_hours", "times_woken"
REMEMBERED = 3  # Christmases [cp]
WAKES = frozenset({DutyKind.CALL_OUT, DutyKind.PHONE_ADVICE})


@dataclass(frozen=True)
class FairRow:
    """What one vet had, by the name of the count, and the years in which 25 December was worked."""

    person: Person
    counted: Mapping[str, float]
    christmases: tuple[int, ...]


@dataclass(frozen=True)
class Fairness:
    """The days first to last. `spreads` set what each had against the fair share.

    `left_out` take no nights, so no share of them is theirs.
    """

    first: date
    last: date
    rows: tuple[FairRow, ...]
    spreads: tuple[Spread, ...]
    left_out: tuple[Person, ...]

    def spread(self, name: str) -> Spread:
        """Return the spread of one count."""
        return next(each for each in self.spreads if each.count == name)


@dataclass(frozen=True)
class Place:
    """Whose bank holidays: a country by ISO 3166-1, and its part where it has holidays of its own."""

    country: str
    part: str | None


def fairness(everyone: tuple[Kept, ...], asked: Asked, place: Place, first: date, last: date) -> Fairness:
    """Return the counts over the days first to last, both included, as far as they have passed."""
    window = _window(asked, first, last)
    sharing = tuple(kept for kept in everyone if kept.person.roles & ON_CALL)
    question = _question(sharing, asked, place, first, last)
    planned = tuple(each for kept in sharing for each in _planned(kept, window, asked))
    counted = counts(question, planned)
    late = {_id(kept): _late_hours(kept, window, asked) for kept in sharing}
    woken = {_id(kept): float(times_woken(kept, window, asked)) for kept in sharing}
    in_points = spreads_of(question, counted, (each.slot for each in planned))
    part = _parts(in_points)
    return Fairness(
        first=first,
        last=last,
        rows=tuple(
            FairRow(
                kept.person,
                {**counted[_id(kept)], LATE_HOURS: late[_id(kept)], WOKEN: woken[_id(kept)]},
                _christmases(kept, asked),
            )
            for kept in sharing
        ),
        spreads=(
            *in_points,
            _shared(LATE_HOURS, late, part),
            _shared(WOKEN, woken, part),
        ),
        left_out=tuple(kept.person for kept in everyone if kept not in sharing),
    )


def _parts(in_points: tuple[Spread, ...]) -> Mapping[str, float]:
    """Return each one's part of the whole by the nights that are fair, from 0 to 1."""
    fair = next(each.fair for each in in_points if each.count == NIGHTS)
    whole = sum(fair.values())
    return {person: points / whole for person, points in fair.items()} if whole else {}


def _window(asked: Asked, first: date, last: date) -> Span:
    start, end = day_span(first, asked.tz).start, day_span(last, asked.tz).end
    return Span(start, max(min(end, asked.now), start + timedelta(minutes=1)))


def _id(kept: Kept) -> str:
    return str(kept.person.key)


def _question(sharing: tuple[Kept, ...], asked: Asked, place: Place, first: date, last: date) -> RotaQuestion:
    """Put the vets as the rota builder knows them, so that its own counting does the work."""
    people = tuple(
        RotaPerson(
            _id(kept),
            kept.person.name,
            contract_share=kept.person.share,
            roles=kept.person.roles,
            leave=kept.leave,
            started_on=kept.person.since,
        )
        for kept in sharing
    )
    rules = RotaRules(asked.rule_set, asked.reading)
    return RotaQuestion(first, last, asked.tz, (), people, rules, place.country, place.part)


def _planned(kept: Kept, window: Span, asked: Asked) -> Iterator[Planned]:
    """Yield one duty for every night on call, and one for every duty by day, that the shifts hold."""
    for shift in kept.rostered:
        if shift.span.touches(window):
            for slot in _slots(shift, asked):
                if window.start <= slot.start < window.end:
                    yield Planned(_id(kept), slot)


def _slots(shift: Rostered, asked: Asked) -> Iterator[Slot]:
    """A shift over a whole weekend is as many nights; one on call by day holds none and counts as a day."""
    on_call = shift.role in ON_CALL
    dark = list(nights(shift.span, DISTURBED_FROM, DISTURBED_UNTIL, asked.tz)) if on_call else []
    if not dark:
        yield Slot(local_day(shift.span.start, asked.tz), DAY, shift.span.start, shift.span.end)
        return
    for evening, night in dark:
        yield Slot(evening, shift.role, max(night.start, shift.span.start), night.end)


def _late_hours(kept: Kept, window: Span, asked: Asked) -> float:
    """Return the hours worked between 22:00 and 06:00; being on call is not enough."""
    log = asked.log(kept.duties_touching(window))
    inside = clip(log.counted, window)
    dark = nights(window, LATE_FROM, LATE_UNTIL, asked.tz)
    return hours(sum((covered(inside, night) for _, night in dark), timedelta(0)))


def times_woken(kept: Kept, window: Span, asked: Asked) -> int:
    """Return how often a call or a telephone began between 23:00 and 06:00 and found the vet settled.

    What follows the last contact within half an hour is the same waking: nobody was asleep again.
    """
    contacts = sorted(each.span for each in kept.worked if each.kind in WAKES)
    up_until: datetime | None = None
    woken = 0
    for span in contacts:
        settled = up_until is None or span.start - up_until >= SETTLING
        if settled and window.start <= span.start < window.end and _by_night(span.start, asked):
            woken += 1
        up_until = span.end if up_until is None else max(up_until, span.end)
    return woken


def _by_night(moment: datetime, asked: Asked) -> bool:
    clock = moment.astimezone(asked.tz).time()
    return clock >= DISTURBED_FROM or clock < DISTURBED_UNTIL


def _shared(name: str, done: Mapping[str, float], part: Mapping[str, float]) -> Spread:
    """Set what each had against their part of the whole, in proportion to the nights that were theirs."""
    whole = sum(done[person] for person in part)
    return Spread(
        name, {person: done[person] for person in part}, {person: part[person] * whole for person in part}
    )


def _christmases(kept: Kept, asked: Asked) -> tuple[int, ...]:
    """Return in which of the last three years a shift or work touched 25 December."""
    latest = asked.until.astimezone(asked.tz)
    newest = latest.year if (latest.month, latest.day) > (12, 25) else latest.year - 1
    days = [date(year, 12, 25) for year in range(newest - REMEMBERED + 1, newest + 1)]
    return tuple(day.year for day in days if _touched(kept, day_span(day, asked.tz)))


def _touched(kept: Kept, day: Span) -> bool:
    return bool(kept.duties_touching(day))
