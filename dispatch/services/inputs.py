"""The question put to the planner: rows of one practice at one moment, frozen."""

from dataclasses import dataclass
from datetime import datetime

from cases.models import Call
from dispatch.inputs.clock import PlanClock
from dispatch.inputs.commitments import commitments_of
from dispatch.inputs.jobs import jobs_of
from dispatch.inputs.names import neighbour_name
from dispatch.inputs.places import roads_of
from dispatch.inputs.skills import phone_support, scarce_skills
from dispatch.inputs.vets import stores_of, vets_of
from dispatch.planner import problem
from dispatch.situation.load import LOOK_AHEAD, Situation, situation_of
from dispatch.travel import TravelTimes
from dispatch.travel_provider import provider
from rotas.models import Neighbour, Practice


@dataclass(frozen=True)
class Inputs:
    """A problem, what kind of driving times it holds, and the calls it cannot hold."""

    problem: problem.Problem
    travel_label: str
    unplaced: tuple[Call, ...]


def problem_for(practice: Practice, now: datetime) -> Inputs:
    """Read the practice's situation and put the question."""
    return inputs_of(situation_of(practice, now), provider(practice))


def inputs_of(situation: Situation, travel: TravelTimes) -> Inputs:
    """Put the question from a situation already read."""
    clock = PlanClock.starting(situation.now)
    roads = roads_of(situation, travel)
    jobs = jobs_of(situation, clock)
    question = problem.Problem(
        epoch=clock.epoch,
        zone=situation.practice.time_zone,
        places=roads.names,
        travel_min=roads.minutes,
        jobs=jobs.jobs,
        vets=vets_of(situation, clock),
        commitments=commitments_of(situation, clock, roads, jobs.jobs),
        stores=stores_of(situation, clock),
        neighbours=tuple(_neighbour(each) for each in situation.neighbours),
        phone_support=phone_support(situation),
        horizon_min=int(LOOK_AHEAD.total_seconds() // 60),
        scarce_skills=scarce_skills(situation),
    )
    return Inputs(question, roads.label, jobs.unplaced)


def _neighbour(row: Neighbour) -> problem.Neighbour:
    """Return a neighbour; one that names no skills takes everything."""
    name = neighbour_name(row)
    return problem.Neighbour(name, row.name, name, skills=frozenset(row.skills) or None)
