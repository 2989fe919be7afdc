"""How tired a vet of a plan is, as far as can be estimated, and what that costs the plan."""

from collections.abc import Iterable, Iterator
from datetime import datetime

from cases.models import ACTIVE_VISITS, Visit
from dispatch.situation.load import Situation
from rotas.fatigue.awake import hours_awake
from rotas.fatigue.curve import Steps, cost_curve
from rotas.models import DutyRecord, Vet
from rotas.rest.intervals import Duty, DutyKind
from rotas.rest.log import DutyLog
from rotas.services.worked import kind_of


def minutes_awake(situation: Situation, vet: Vet) -> int:
    """Return for how many minutes the vet has been up."""
    said = situation.said.get(vet.pk, ())
    return int(hours_awake(_log(situation, vet), said, situation.now).total_seconds() // 60)


def tired_cost(situation: Situation, vet: Vet) -> Steps:
    """Return the price of the vet's minutes from now on, by hours awake and predicted sleepiness."""
    said = situation.said.get(vet.pk, ())
    return cost_curve(_log(situation, vet), said, situation.now, minutes_awake(situation, vet))


def duty_records(situation: Situation, vet: Vet) -> list[DutyRecord]:
    """Return what is on record of the vet's last days."""
    return [row for row in situation.duty if row.vet_id == vet.pk]


def under_way(situation: Situation, vet: Vet) -> Iterator[Duty]:
    """Yield the work under way that is not yet on record."""
    return working_on(situation.visits_of(vet.pk), situation.now)


def working_on(visits: Iterable[Visit], now: datetime) -> Iterator[Duty]:
    """Yield the time spent so far on the visits that have not ended."""
    for visit in visits:
        began: datetime | None = visit.set_out_at or visit.on_farm_at
        if visit.state in ACTIVE_VISITS and began is not None and began < now:
            yield Duty(began, now, DutyKind.CALL_OUT)


def _log(situation: Situation, vet: Vet) -> DutyLog:
    rostered = (Duty(each.starts_at, each.ends_at, kind_of(each)) for each in situation.shifts_of(vet.pk))
    recorded = (
        Duty(row.period.lower, row.period.upper, DutyKind(row.kind)) for row in duty_records(situation, vet)
    )
    duties = (*rostered, *recorded, *under_way(situation, vet))
    return DutyLog(duties, situation.practice.tz)
