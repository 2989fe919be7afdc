"""A practice without roads, rest or telephones: then the engine must agree with the theory of queues.

Calls come at random (Poisson), every vet can do everything and stands at the gate already, visits
last exponentially long. In order of arrival that is Erlang's queue M/M/c; most urgent first, no
visit broken off, it is Cobham's queue with priorities.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from math import sqrt
from random import Random
from statistics import fmean, stdev
from zoneinfo import ZoneInfo

from dispatch.planner.parameters import Urgency
from dispatch.planner.words import Level, Role
from dispatch.simulate.calls import NightCall
from dispatch.simulate.county import BASE, County
from dispatch.simulate.in_turn import MOST_URGENT_NEAREST, NEAREST
from dispatch.simulate.night import Night
from dispatch.simulate.people import CrewVet
from dispatch.simulate.record import Record
from dispatch.simulate.world import worked
from dispatch.situation.readiness import Place

ANY_SKILL = "first_opinion_farm"
CLASSES = (Urgency.IMMEDIATE, Urgency.URGENT, Urgency.SAME_DAY)
ENDLESS = 10**9
WARM_UP = 0.1
BATCHES = 20
NOWHERE = County((BASE,), ((0,),), ((0.0,),), {})


@dataclass(frozen=True)
class Estimate:
    """A mean with its standard error by batch means."""

    mean: float
    error: float


def queue_night(
    seed: int,
    vets: int,
    service_min: float,
    per_min: Sequence[float],
    calls: int,
    urgencies: Sequence[Urgency],
) -> Night:
    """Draw an endless night: so many calls in all, at these rates a minute for the urgencies beside them."""
    rng = Random(f"queue {seed}")
    at, drawn = 0.0, []
    for number in range(calls):
        at += rng.expovariate(sum(per_min))
        urgency = rng.choices(urgencies, per_min)[0]
        drawn.append(_call(number, at, rng.expovariate(1 / service_min), urgency, service_min))
    return Night(
        seed=seed,
        number=0,
        epoch=datetime(2027, 1, 4, 18, tzinfo=UTC),
        zone=ZoneInfo("UTC"),
        day_min=ENDLESS,
        county=NOWHERE,
        crew=tuple(_vet(number) for number in range(vets)),
        calls=tuple(drawn),
        turnout=dict.fromkeys(Place, 0),
        rested=False,
    )


def _call(number: int, at: float, length: float, urgency: Urgency, service_min: float) -> NightCall:
    usual = max(1, round(service_min))
    return NightCall(
        id=f"q{number:06}",
        at=at,
        place=BASE,
        code="",
        name="a call",
        urgency=urgency,
        arrive_by=None,
        worse_at=None,
        median_min=usual,
        pessimistic_min=usual,
        true_min=length,
        skills=(frozenset({ANY_SKILL}),),
    )


def _vet(number: int) -> CrewVet:
    return CrewVet(
        id=f"v{number}",
        name=f"Vet {number + 1}",
        role=Role.DAY,
        home=BASE,
        skills={ANY_SKILL: Level.SOLO},
        unavailable_for=frozenset(),
        kit=(),
        on_from=0,
        on_until=ENDLESS,
    )


def erlang_queue(
    seed: int, vets: int, load: float, calls: int, service_min: float = 60.0
) -> tuple[Estimate, Estimate]:
    """In order of arrival: (share of calls that wait, mean wait in service times) at this offered load."""
    night = queue_night(seed, vets, service_min, [load / service_min], calls, [Urgency.URGENT])
    waits = waits_of(worked(night, NEAREST))
    chances = [float(wait > 0) for wait in waits]
    return batch_means(chances), batch_means([wait / service_min for wait in waits])


def priority_queue(
    seed: int, vets: int, service_min: float, per_min: Sequence[float], calls: int
) -> dict[Urgency, Estimate]:
    """Most urgent first, three classes: mean wait of each in minutes."""
    record = worked(queue_night(seed, vets, service_min, per_min, calls, CLASSES), MOST_URGENT_NEAREST)
    return {urgency: batch_means(waits_of(record, urgency)) for urgency in CLASSES}


def waits_of(record: Record, urgency: Urgency | None = None) -> list[float]:
    """Minutes from call to beginning, in order of arrival, without the first calls of the empty house."""
    served = sorted(record.served, key=lambda each: each.call.at)
    served = served[round(len(served) * WARM_UP) :]
    return [each.begun - each.call.at for each in served if urgency in (None, each.call.urgency)]


def batch_means(values: Sequence[float]) -> Estimate:
    """The mean, and its error from the means of batches long enough to be nearly independent."""
    size = len(values) // BATCHES
    means = [fmean(values[index * size : (index + 1) * size]) for index in range(BATCHES)]
    return Estimate(fmean(values), stdev(means) / sqrt(BATCHES))
