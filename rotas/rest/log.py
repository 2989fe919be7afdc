"""One vet's duties, prepared once: what counted, what was planned, when the vet stood by."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime, time, tzinfo
from functools import cached_property

from rotas.rest.intervals import (
    CONTACT,
    DRIVEN,
    PLANNED,
    WORKED,
    Duty,
    DutyKind,
    Span,
    Spans,
    merge,
    of_kinds,
)
from rotas.rest.localtime import nights


@dataclass(frozen=True)
class DutyLog:
    """The duties in any order, overlaps allowed; time that no duty covers is rest.

    `known` bounds the time that the duties are complete for: whole weeks and reference periods
    are judged only inside it. Without it the duties are taken to be all there are.
    """

    duties: tuple[Duty, ...]
    tz: tzinfo
    standby_in_full: bool = False
    known: Span | None = None
    leave: frozenset[date] = frozenset()

    @cached_property
    def counted(self) -> Spans:
        """Working time: what was worked, and stand-by only where it counts in full."""
        kinds = WORKED | {DutyKind.AT_HOME} if self.standby_in_full else WORKED
        return of_kinds(self.duties, kinds)

    @cached_property
    def planned(self) -> Spans:
        """Duty by the rota that is worked in full."""
        return of_kinds(self.duties, PLANNED)

    @cached_property
    def standby(self) -> Spans:
        """On call at home."""
        return of_kinds(self.duties, (DutyKind.AT_HOME,))

    @cached_property
    def driven(self) -> Spans:
        """Time at the wheel that is recorded as such; what a call-out holds of it is not known."""
        return of_kinds(self.duties, DRIVEN)

    @cached_property
    def on_duty(self) -> Spans:
        """Worked or standing by."""
        return merge((*self.counted, *self.standby))

    @cached_property
    def contacts(self) -> Spans:
        """Time in which somebody reached the vet: call-outs, telephone advice, the drive home."""
        return of_kinds(self.duties, CONTACT)

    def nights_standing_by(self, start: time, end: time) -> tuple[tuple[date, Span], ...]:
        """Return each night between those local hours of which any part was on call at home, once."""
        known = self._nights
        if (start, end) not in known:
            found = (pair for span in self.standby for pair in nights(span, start, end, self.tz))
            known[start, end] = tuple(dict(found).items())
        return known[start, end]

    @cached_property
    def _nights(self) -> dict[tuple[time, time], tuple[tuple[date, Span], ...]]:
        """What `nights_standing_by` has found: several rules look at the same nights."""
        return {}

    @property
    def hull(self) -> Span | None:
        """From the first start to the last end; None without duties."""
        return Span(self.on_duty[0].start, self.on_duty[-1].end) if self.on_duty else None

    def until(self, moment: datetime) -> "DutyLog":
        """Return the log as far as the moment."""
        cut = (duty for duty in self.duties if duty.start < moment)
        return replace(
            self, duties=tuple(duty if duty.end <= moment else replace(duty, end=moment) for duty in cut)
        )

    def knowing(self, known: Span | None) -> "DutyLog":
        """Return the log complete for another time; what was worked out of its duties is kept."""
        bounded = replace(self, known=known)
        prepared = {name: value for name, value in vars(self).items() if name not in vars(bounded)}
        vars(bounded).update(prepared)
        return bounded

    def with_duties(self, more: Iterable[Duty]) -> "DutyLog":
        """Return the log with further duties."""
        return replace(self, duties=(*self.duties, *more))
