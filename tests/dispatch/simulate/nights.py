"""Nights to work in tests: drawn ones that are busy, and small ones made by hand."""

from dataclasses import replace

from dispatch.planner.parameters import Urgency
from dispatch.planner.words import Role
from dispatch.simulate.calls import NightCall
from dispatch.simulate.night import Night, draw_night
from dispatch.simulate.policies import NAMES, policies_of
from dispatch.simulate.record import Record
from dispatch.simulate.world import worked

SEED = 20
PLAIN = {"skills": (frozenset({"first_opinion_farm"}),), "median_min": 40, "pessimistic_min": 60}


def busy_nights(count: int, least: int = 3, seed: int = SEED) -> list[Night]:
    """The first nights of a season with so many calls."""
    found: list[Night] = []
    number = 0
    while len(found) < count:
        night = draw_night(seed, number)
        found += [night] if len(night.calls) >= least else []
        number += 1
    return found


def by_every_policy(night: Night) -> dict[str, Record]:
    """The night worked by each way of deciding."""
    return {policy.name: worked(night, policy) for policy in policies_of(list(NAMES), [])}


def call(name: str, at: int, place: str, urgency: Urgency, within: int, **more: object) -> NightCall:
    """A call for any farm vet that takes 40 minutes; whoever is asked says yes at once."""
    given = {"true_min": 40, "worse_at": None, "code": "milk_fever", "name": "A cow", **PLAIN, **more}
    return NightCall(id=name, at=at, place=place, urgency=urgency, arrive_by=at + within, **given)


def quiet_night(*calls: NightCall) -> Night:
    """A drawn night with these calls alone: two rested vets on call, no neighbour, no shelf."""
    night = draw_night(SEED, 0)
    crew = tuple(vet if vet.role == Role.DAY else replace(vet, before=(), after=None) for vet in night.crew)
    return replace(night, crew=crew, calls=calls, neighbours=(), shelf=())
