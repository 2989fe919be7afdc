"""Where each vet is, read from what was last reported. Absence of news is not news."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from cases.models import ACTIVE_VISITS, BookedVisit, Call, Location, Visit, VisitState
from dispatch.situation.load import Situation
from dispatch.situation.readiness import Place, at_home, remaining_min
from rotas.models import Shift, ShiftRole, Vet

DRIVE_HOME_AT_MOST = timedelta(minutes=90)


class Doing(StrEnum):
    """What a vet is doing."""

    ON_FARM = "on_farm"
    DRIVING = "driving"
    DRIVING_HOME = "driving_home"
    AT_HOME = "at_home"
    AT_PRACTICE = "at_practice"


@dataclass(frozen=True)
class Whereabouts:
    """One vet now. `farm` is where they are or drive to; `since` is when that began, if known.

    `remaining_min` is what is left of the present job on a farm.
    """

    doing: Doing
    readiness: Place
    farm: Location | None = None
    visit: Visit | None = None
    since: datetime | None = None
    remaining_min: int = 0


def whereabouts(situation: Situation, vet: Vet) -> Whereabouts:
    """Say where the vet is: on a farm before on the road before at home."""
    visits = situation.visits_of(vet.pk)
    for visit in visits:
        if visit.state == VisitState.ON_FARM:
            return _on_farm(situation, visit)
    for visit in visits:
        if visit.state == VisitState.SET_OUT:
            return Whereabouts(Doing.DRIVING, Place.CAR, visit.location, visit, visit.set_out_at)
    return _between_jobs(situation, vet, visits)


def _on_farm(situation: Situation, visit: Visit) -> Whereabouts:
    left = minutes_left(visit, situation.now)
    return Whereabouts(Doing.ON_FARM, Place.CAR, visit.location, visit, visit.on_farm_at, left)


def minutes_left(visit: Visit, now: datetime) -> int:
    """Return whole minutes that an attendance under way still takes."""
    job = attended(visit)
    word_at = visit.estimated_at or now
    return remaining_min(
        median_min=job.minutes_median,
        pessimistic_min=job.minutes_pessimistic,
        elapsed_min=_minutes(now - (visit.on_farm_at or now)),
        own_word_min=visit.minutes_left_estimate,
        since_word_min=_minutes(now - word_at),
    )


def attended(visit: Visit) -> Call | BookedVisit:
    """Return what the visit attends; the database holds that it is one of the two."""
    job = visit.call or visit.booked
    assert job is not None
    return job


def _minutes(span: timedelta) -> float:
    return max(0.0, span.total_seconds() / 60)


def _between_jobs(situation: Situation, vet: Vet, visits: list[Visit]) -> Whereabouts:
    last = last_finished(visits)
    if last is not None and last.home_at is None and situation.now - ended_at(last) < DRIVE_HOME_AT_MOST:
        return Whereabouts(Doing.DRIVING_HOME, Place.CAR, last.location, last, last.finished_at)
    duty = situation.duty_of(vet.pk)
    if works_from_practice(duty, situation.now):
        return Whereabouts(Doing.AT_PRACTICE, Place.PRACTICE)
    up_at = (last.home_at or ended_at(last)) if last else None
    return Whereabouts(Doing.AT_HOME, at_home(situation.practice.local(situation.now), up_at), since=up_at)


def last_finished(visits: list[Visit]) -> Visit | None:
    """Return the visit that ended last, unless the vet already holds work under way."""
    done = [visit for visit in visits if visit.finished_at and visit.state not in ACTIVE_VISITS]
    return max(done, key=ended_at, default=None)


def ended_at(visit: Visit) -> datetime:
    """Return when a finished visit ended."""
    assert visit.finished_at is not None
    return visit.finished_at


def works_from_practice(duty: Shift | None, now: datetime) -> bool:
    """Say whether the shift under way is worked from the practice rather than from home."""
    if duty is None or duty.starts_at > now:
        return False
    return duty.at_workplace or duty.role == ShiftRole.DAY
