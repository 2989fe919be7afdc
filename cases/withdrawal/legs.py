"""The clocks that run for one commodity: each leg has a start, an end and its sentence."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from math import ceil

from cases.withdrawal.clock import after, clocks_change, shown
from cases.withdrawal.herd import Milking
from cases.withdrawal.periods import MILKING_HOURS, LabelPeriod, Length, Unit
from cases.withdrawal.treatment import TreatmentFacts


@dataclass(frozen=True)
class Leg:
    """One running clock. `milked_from` is where the milkings thrown away are counted from."""

    starts_at: datetime
    ends_at: datetime
    milked_from: datetime
    length: Length
    sentence: str
    by_vet: bool = False

    def milkings(self, herd: Milking) -> int:
        """Return how many milkings must be thrown away, 0 where the label's 12 h do not fit the herd."""
        if self.length.unit == Unit.MILKINGS:
            return ceil(self.length.value)
        if herd.twice_a_day:
            return ceil(self.length.elapsed() / timedelta(hours=MILKING_HOURS))
        return 0


def from_last_dose(facts: TreatmentFacts, length: Length, tz: tzinfo, *, vet: str = "") -> Leg:
    """Return the clock that starts at the last dose, of the label's period or of a named vet's."""
    start = facts.last_dose
    end = after(start, length.elapsed(facts.water_c))
    whose = f"{vet}'s period" if vet else "Label"
    sentence = f"{whose} {length} from the last dose ({shown(start, tz)}): ends {shown(end, tz)}."
    return Leg(start, end, start, length, sentence, by_vet=bool(vet))


def from_calving(facts: TreatmentFacts, entry: LabelPeriod, calved_at: datetime, tz: tzinfo) -> Leg:
    """Return the dry-cow clock: from calving, or from the end of the least dry period if she was early."""
    assert entry.length is not None
    dry_until = after(facts.last_dose, timedelta(days=entry.min_dry_days or 0))
    start = max(calved_at, dry_until)
    end = after(start, entry.length.elapsed())
    if calved_at < dry_until:
        sentence = (
            f"She calved on {shown(calved_at, tz)}, before the least dry period of {entry.min_dry_days} days "
            f"ended ({shown(dry_until, tz)}): {entry.length} count from that end, "
            f"to {shown(end, tz)}. Test first."
        )
    else:
        sentence = f"Label {entry.length} from calving ({shown(calved_at, tz)}): ends {shown(end, tz)}."
    return Leg(start, end, calved_at, entry.length, sentence)


def latest_end(legs: Iterable[Leg]) -> datetime:
    """Return when the last of the clocks ends."""
    return max(leg.ends_at for leg in legs)


def first_milking(legs: tuple[Leg, ...], herd: Milking, tz: tzinfo) -> datetime | None:
    """Return the first milking that satisfies every clock, by hours and by milkings thrown away."""
    if not herd.known:
        return None
    return max(start for leg in legs for start in _both_rules(leg, herd, tz))


def _both_rules(leg: Leg, herd: Milking, tz: tzinfo) -> Iterator[datetime]:
    """Yield the milking that the hours allow and the one that the count of milkings allows."""
    by_hours = herd.first_at_or_after(leg.ends_at, tz)
    by_count = herd.after_throwing_away(leg.milkings(herd), leg.milked_from, tz)
    yield from (start for start in (by_hours, by_count) if start is not None)


def milk_reasons(legs: tuple[Leg, ...], herd: Milking, tz: tzinfo) -> Iterator[str]:
    """Yield how the milking was found, and what to ask the vet about this herd."""
    first = first_milking(legs, herd, tz)
    if first is not None:
        yield f"First milking that may go in the tank: {shown(first, tz)}, started not a minute earlier."
        yield from _count_reasons(legs, herd, first, tz)
    if herd.robot:
        yield f"Robot herd: her first visit that starts at or after {shown(latest_end(legs), tz)}."
    elif not herd.known:
        end = shown(latest_end(legs), tz)
        yield f"No milking times on record: the first milking that starts at or after {end}."
    if herd.robot or (herd.known and not herd.twice_a_day):
        yield "Labels assume a milking about every 12 h and this herd is milked otherwise: ask the vet."


def _count_reasons(legs: tuple[Leg, ...], herd: Milking, first: datetime, tz: tzinfo) -> Iterator[str]:
    for leg in legs:
        by_hours = herd.first_at_or_after(leg.ends_at, tz)
        needed = leg.milkings(herd)
        if by_hours is None or not needed or by_hours >= first:
            continue
        thrown = herd.thrown_away(leg.milked_from, by_hours, tz)
        if thrown < needed:
            yield (
                f"By {shown(by_hours, tz)} the hours are over but only {thrown} of {needed} milkings have "
                "been thrown away; the later milking is shown unless the vet accepts the hours."
            )


def clock_change_reason(legs: Iterable[Leg], tz: tzinfo) -> Iterator[str]:
    """Yield the caution for a clock change inside a period."""
    if any(clocks_change(leg.starts_at, leg.ends_at, tz) for leg in legs):
        yield "The clocks change in between: times shown are local, hours counted are real hours."
