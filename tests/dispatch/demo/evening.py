"""The scripted evening played in order, as the desk would see it."""

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from cases.triage import ArrivalTargets, Assessment, CallReport, assess
from dispatch.demo.scenario.kinds import DemoCall, Do, Scenario, Step
from dispatch.demo.scenario.read import ROADS
from dispatch.travel import Point, travel_times

BEGAN = datetime(2026, 4, 24, 17, tzinfo=UTC)
"""Friday 24 April 2026, 18:00 in London."""

ENDS = {Do.HAND_OVER, Do.CANCEL}


def instant(minutes: int) -> datetime:
    """Return the instant so many minutes after the evening began."""
    return BEGAN + timedelta(minutes=minutes)


def assessed(demo: Scenario, call: DemoCall) -> Assessment:
    """Return what triage says of a call."""
    report = CallReport(
        code=call.complaint,
        called_at=instant(call.at_min),
        answers=dict(call.answers),
        onset_at=None if call.onset_min is None else instant(call.onset_min),
        species=call.species,
    )
    return assess(report, ArrivalTargets(), tz=ZoneInfo(demo.practice.time_zone))


def steps_of(demo: Scenario, vet: str | None = None, until_min: int = 10_000) -> list[tuple[DemoCall, Step]]:
    """Return every step with its call in the order of time, of one vet or of all."""
    steps = [(call, step) for call in demo.calls for step in call.steps if step.at_min <= until_min]
    mine = [(call, step) for call, step in steps if vet in (None, step.vet)]
    return sorted(mine, key=lambda pair: (pair[1].at_min, list(Do).index(pair[1].do)))


def state(call: DemoCall, until_min: int) -> str:
    """Return where a call stands at a moment, in the words of the call's own states."""
    done = [step for step in call.steps if step.at_min <= until_min]
    kinds = [step.do for step in done]
    for last, word in ((Do.HAND_OVER, "handed_over"), (Do.CANCEL, "cancelled"), (Do.DEFER, "deferred")):
        if last in kinds:
            return word
    if Do.FINISH in kinds and kinds.count(Do.FINISH) == kinds.count(Do.ACCEPT):
        return "served"
    if Do.SET_OUT in kinds:
        return "under_way"
    if Do.ACCEPT in kinds:
        return "accepted"
    return "advised" if kinds and set(kinds) == {Do.ADVISE} else "waiting"


def open_offers(call: DemoCall, until_min: int) -> set[tuple[str | None, int]]:
    """Return (vet, place) of the offers that wait for an answer at a moment."""
    waiting: set[tuple[str | None, int]] = set()
    for step in call.steps:
        if step.at_min <= until_min and step.do is Do.OFFER:
            waiting.add((step.vet, step.place))
        elif step.at_min <= until_min and step.do in {Do.ACCEPT, Do.DECLINE, Do.LAPSE}:
            waiting.discard((step.vet, step.place))
    return waiting


def doing(demo: Scenario, vet: str, until_min: int) -> str:
    """Return what a vet is doing at a moment."""
    words = {Do.SET_OUT: "driving", Do.ON_FARM: "on farm", Do.FINISH: "driving home", Do.HOME: "home"}
    moves = [words[step.do] for _, step in steps_of(demo, vet, until_min) if step.do in words]
    return moves[-1] if moves else "home"


def drives(demo: Scenario) -> Iterable[tuple[str, int, int]]:
    """Yield (what, minutes taken, minutes by road) of every drive in the script."""
    times = travel_times(ROADS)
    homes = {vet.id: vet.home for vet in demo.vets}
    for vet, home in homes.items():
        place: Point = home
        left = 0
        for call, step in steps_of(demo, vet):
            farm = demo.locations[call.location].at
            if step.do is Do.SET_OUT:
                left = step.at_min
            elif step.do is Do.ON_FARM:
                road = times.minutes([place], [farm], instant(left))[0][0]
                yield f"{vet} to {call.id}", step.at_min - left, road
                place = farm
            elif step.do is Do.FINISH:
                left = step.at_min
            elif step.do is Do.HOME:
                yield (
                    f"{vet} home from {call.id}",
                    step.at_min - left,
                    times.minutes([place], [home], instant(left))[0][0],
                )
                place = home
