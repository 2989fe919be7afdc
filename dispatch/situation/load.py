"""Everything that is known of a practice at one moment, read in a fixed number of queries.

The planner's inputs and the desk both start from here, so that they can never disagree on where
a vet is or what is still owed.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import cached_property
from typing import TypeVar

from django.db.models import Model, Q, QuerySet
from psycopg.types.range import TimestamptzRange

from cases.models import ACTIVE_VISITS, OPEN_STATES, BookedState, BookedVisit, Call, Visit, VisitState
from cases.services.drive_home import DriveWord, words_of
from dispatch.models import Offer
from dispatch.situation.call_outs import late_call_outs
from dispatch.situation.limits import HomeLimit, home_limit
from rotas.models import DutyRecord, Kit, Neighbour, NotAvailableFor, Practice, Shift, Vet, VetSkill
from rotas.rest.limits import VetLimits
from rotas.services.rest import vets_rest
from rotas.services.tiredness import SAID_BACK, Reports, reports_of
from rotas.services.worked import rules_of

LOOK_AHEAD = timedelta(hours=24)
LOOK_BACK = timedelta(hours=24)
WORKED_BACK = timedelta(days=5)
"""What somebody slept is estimated over as many days."""

A_MOMENT = timedelta.resolution
"""What is said at the very moment counts."""

Row = TypeVar("Row", bound=Model)


@dataclass(frozen=True)
class Situation:
    """Rows of one practice at `now`; instances are only read.

    `vets` are those on duty, coming on within the look-ahead, or holding work; `crew` is every
    active vet by key. `visits` are the active ones, every attendance of the open calls, and what
    ended in the look-back; `late_call_outs` those of the last weeks by vet; `drive_words` what was
    said about the drive home, by visit, until the vet is home; `said` what vets in play said of
    themselves. `also_vets` and `also_calls` are looked at whatever their standing, because somebody
    asks about them.
    """

    practice: Practice
    now: datetime
    calls: tuple[Call, ...]
    booked: tuple[BookedVisit, ...]
    visits: tuple[Visit, ...]
    offers: tuple[Offer, ...]
    shifts: tuple[Shift, ...]
    crew: dict[int, Vet]
    skills: tuple[VetSkill, ...]
    kit: tuple[Kit, ...]
    not_available: tuple[NotAvailableFor, ...]
    duty: tuple[DutyRecord, ...]
    neighbours: tuple[Neighbour, ...]
    rest: dict[int, VetLimits]
    drive_words: Mapping[int, DriveWord] = field(default_factory=dict)
    said: Mapping[int, Reports] = field(default_factory=dict)
    late_call_outs: Mapping[int, int] = field(default_factory=dict)
    also_vets: frozenset[int] = frozenset()
    also_calls: frozenset[int] = frozenset()

    @cached_property
    def vets(self) -> tuple[Vet, ...]:
        """Vets in play, first on call before second before the day team, then by code."""
        return tuple(sorted((self.crew[pk] for pk in self._in_play), key=self._vet_order))

    @cached_property
    def _in_play(self) -> set[int]:
        return (in_play(self.shifts, self.visits, self.now) | self.also_vets) & self.crew.keys()

    def _vet_order(self, vet: Vet) -> tuple[bool, int, str]:
        duty = self.duty_of(vet.pk)
        roles = ("first", "second", "day")
        return duty is None or duty.starts_at > self.now, roles.index(duty.role) if duty else 3, vet.code

    def duty_of(self, vet_id: int) -> Shift | None:
        """Return the vet's shift under way, or the next one in the look-ahead."""
        later = (s for s in self.shifts_of(vet_id) if s.ends_at > self.now)
        return next((s for s in later if s.starts_at < self.now + LOOK_AHEAD), None)

    def duty_ends_at(self, vet_id: int) -> datetime | None:
        """Return the end of the present or next duty, shifts that follow without a gap taken together."""
        duty = self.duty_of(vet_id)
        if duty is None:
            return None
        end: datetime = duty.ends_at
        for shift in self.shifts_of(vet_id):
            if shift.starts_at == end:
                end = shift.ends_at
        return end

    def on_duty(self, vet_id: int) -> bool:
        """Say whether the vet is on a shift at this moment."""
        duty = self.duty_of(vet_id)
        return duty is not None and duty.starts_at <= self.now

    def home_limit(self, vet_id: int) -> HomeLimit | None:
        """Return the latest the vet may be home by; None when nothing bounds them."""
        night_is_hard = rules_of(self.practice).on_call_rest_replaces_daily
        return home_limit(self.rest.get(vet_id), night_is_hard=night_is_hard)

    def shifts_of(self, vet_id: int) -> list[Shift]:
        """Return the vet's shifts of the last days and the coming ones, in order."""
        return self._shifts_by_vet[vet_id]

    @cached_property
    def _shifts_by_vet(self) -> dict[int, list[Shift]]:
        return grouped(self.shifts, "vet_id")

    def visits_of(self, vet_id: int) -> list[Visit]:
        """Return the vet's visits, oldest acceptance first."""
        return self._visits_by_vet[vet_id]

    def places_of(self, call_id: int) -> dict[int, Visit]:
        """Return who holds which place on a call; whoever was stood down holds none."""
        standing = (v for v in self._visits_by_call[call_id] if v.state != VisitState.STOOD_DOWN)
        return {visit.place: visit for visit in standing}

    def stood_down_from(self, call_id: int) -> list[Visit]:
        """Return the attendances that were taken off a call."""
        return [visit for visit in self._visits_by_call[call_id] if visit.state == VisitState.STOOD_DOWN]

    def free_places(self, call: Call) -> list[int]:
        """Return the places on a call that nobody has accepted."""
        taken = self.places_of(call.pk)
        return [place for place in range(1, call.vets_needed + 1) if place not in taken]

    def offers_of(self, call_id: int) -> list[Offer]:
        """Return the offers made of a call, oldest first."""
        return self._offers_by_call[call_id]

    @cached_property
    def _visits_by_vet(self) -> dict[int, list[Visit]]:
        return grouped(self.visits, "vet_id")

    @cached_property
    def _visits_by_call(self) -> dict[int, list[Visit]]:
        return grouped(self.visits, "call_id")

    @cached_property
    def _offers_by_call(self) -> dict[int, list[Offer]]:
        return grouped(self.offers, "call_id")


def grouped(rows: Iterable[Row], field: str) -> dict[int, list[Row]]:
    """Group rows by one of their keys; a key without rows gives an empty list."""
    groups: dict[int, list[Row]] = defaultdict(list)
    for row in rows:
        groups[getattr(row, field)].append(row)
    return groups


def situation_of(
    practice: Practice, now: datetime, *, also_vets: Iterable[int] = (), also_calls: Iterable[int] = ()
) -> Situation:
    """Read what is known at `now`."""
    crew = {vet.pk: vet for vet in _of(Vet, practice).filter(active=True).select_related("member")}
    calls = tuple(_calls(practice))
    shifts = tuple(_shifts(practice, now))
    visits = tuple(_visits(practice, now))
    asked = frozenset(also_vets)
    playing = (in_play(shifts, visits, now) | asked) & crew.keys()
    return Situation(
        practice=practice,
        now=now,
        calls=calls,
        booked=tuple(_booked(practice, now)),
        visits=visits,
        offers=tuple(_of(Offer, practice).filter(call__in=[c.pk for c in calls]).order_by("made_at", "pk")),
        shifts=shifts,
        crew=crew,
        skills=tuple(_of(VetSkill, practice)),
        kit=tuple(_of(Kit, practice).order_by("pk")),
        not_available=tuple(_not_available(practice, now)),
        duty=tuple(
            _of(DutyRecord, practice).filter(period__overlap=(now - WORKED_BACK, now)).order_by("period")
        ),
        neighbours=tuple(_of(Neighbour, practice).order_by("minutes_away", "pk")),
        rest=vets_rest([crew[pk] for pk in playing], now, coming_on=_coming_on(shifts, now)),
        late_call_outs=late_call_outs(practice, playing, now),
        drive_words=words_of(practice, [each.pk for each in visits if each.finished_at and not each.home_at]),
        said=reports_of([crew[pk] for pk in playing], now - SAID_BACK, now + A_MOMENT),
        also_vets=asked,
        also_calls=frozenset(also_calls),
    )


def _of(model: type[Row], practice: Practice) -> QuerySet[Row]:
    return model._default_manager.filter(practice=practice)


def _calls(practice: Practice) -> QuerySet[Call]:
    rows = Call.objects.for_practice(practice).open()
    return rows.select_related("location__client", "client", "group").longest_waiting_first()


def _visits(practice: Practice, now: datetime) -> QuerySet[Visit]:
    lately = Q(finished_at__gte=now - LOOK_BACK) | Q(home_at__gte=now - LOOK_BACK)
    wanted = Q(state__in=ACTIVE_VISITS) | Q(call__state__in=OPEN_STATES) | lately
    rows = _of(Visit, practice).filter(wanted)
    return rows.select_related("call__location", "booked__location").order_by("accepted_at", "pk")


def _booked(practice: Practice, now: datetime) -> QuerySet[BookedVisit]:
    window = TimestamptzRange(now - timedelta(hours=4), now + LOOK_AHEAD)
    rows = _of(BookedVisit, practice).filter(state=BookedState.BOOKED, window__overlap=window)
    return rows.select_related("location__client").order_by("window", "pk")


def _shifts(practice: Practice, now: datetime) -> QuerySet[Shift]:
    span = TimestamptzRange(now - WORKED_BACK, now + 2 * LOOK_AHEAD)
    return Shift.objects.for_practice(practice).within(span.lower, span.upper).order_by("period", "pk")


def _not_available(practice: Practice, now: datetime) -> QuerySet[NotAvailableFor]:
    today = practice.local(now).date()
    begun = Q(starts_on__isnull=True) | Q(starts_on__lte=today)
    not_over = Q(ends_on__isnull=True) | Q(ends_on__gte=today)
    return _of(NotAvailableFor, practice).filter(begun, not_over)


def in_play(shifts: Iterable[Shift], visits: Iterable[Visit], now: datetime) -> set[int]:
    """Return the vets on duty, coming on within the look-ahead, or holding work."""
    holding = {visit.vet_id for visit in visits if visit.state in ACTIVE_VISITS}
    coming = (s.vet_id for s in shifts if s.ends_at > now and s.starts_at < now + LOOK_AHEAD)
    return holding.union(coming)


def _coming_on(shifts: Iterable[Shift], now: datetime) -> dict[int, datetime]:
    """Return the next start of vets who are not on duty now."""
    starts: dict[int, datetime] = {}
    for shift in shifts:
        if shift.ends_at > now:
            starts.setdefault(shift.vet_id, shift.starts_at)
    return {vet: start for vet, start in starts.items() if start > now}
