"""What the script knows of a call that the site shows: how its people answer, work and treat."""

from collections import deque
from collections.abc import Iterable
from typing import Any

from dispatch.demo.scenario.kinds import DemoCall, DemoTreatment, Do, Scenario, Step

ANSWERS = (Do.ACCEPT, Do.DECLINE, Do.LAPSE)
ANSWER_MIN = 3
"""Minutes after which a vet answers where the script does not say."""
WITHOUT_A_VISIT = (Do.DEFER, Do.HAND_OVER)


class Script:
    """The script's calls, found again by farm and complaint, for the planner knows no script.

    Answers to offers are given in the script's order, whoever is asked: the first vet asked about
    a call that somebody declines is the one who declines.
    """

    def __init__(self, demo: Scenario, calls: Iterable[DemoCall], from_min: int) -> None:
        self.demo, self.from_min = demo, from_min
        self.calls = tuple(calls)
        self._by_farm = {(demo.locations[c.location].farm, c.complaint): c for c in self.calls}
        self._answers = {c.id: deque(self._to_come(c, ANSWERS)) for c in self.calls}

    def _to_come(self, call: DemoCall, kinds: Iterable[Do]) -> list[Step]:
        return [step for step in call.steps if step.do in kinds and step.at_min > self.from_min]

    def call_of(self, shown: dict[str, Any]) -> DemoCall | None:
        """Return the script's call behind one that the site shows."""
        farm = shown["location"]["name"] if shown["location"] else ""
        return self._by_farm.get((farm, shown["complaint"]))

    def next_answer(self, shown: dict[str, Any]) -> tuple[Do, float, Step | None]:
        """Return what the next vet asked answers, after how many minutes, and the step it is from."""
        call = self.call_of(shown)
        if call is None or not self._answers[call.id]:
            return Do.ACCEPT, ANSWER_MIN, None
        step = self._answers[call.id].popleft()
        offered = [s.at_min for s in call.steps if s.do is Do.OFFER and s.at_min <= step.at_min]
        return step.do, step.at_min - max(offered, default=step.at_min - ANSWER_MIN), step

    def minutes_till_there(self, shown: dict[str, Any], place: int) -> int | None:
        """Return when a vet arrives who was on the road when the evening was taken up."""
        call = self.call_of(shown)
        steps = self._to_come(call, [Do.ON_FARM]) if call else []
        return next((step.at_min - self.from_min for step in steps if step.place == place), None)

    def ends_without_a_visit(self, shown: dict[str, Any]) -> bool:
        """Say whether the script's people leave this call for later or hand it over, at their time."""
        call = self.call_of(shown)
        return call is not None and any(step.do in WITHOUT_A_VISIT for step in call.steps)

    def minutes_on_farm(self, shown: dict[str, Any]) -> int:
        """Return how long the job takes: the script's time where it tells, else the site's guess."""
        call = self.call_of(shown)
        steps = call.steps if call else ()
        there = max((s.at_min for s in steps if s.do is Do.ON_FARM), default=None)
        done = min((s.at_min for s in steps if s.do is Do.FINISH), default=None)
        if there is None or done is None or done <= there:
            return int(shown["minutes_median"])
        return done - there

    def treatments(self, shown: dict[str, Any]) -> list[DemoTreatment]:
        """Return what is given at the call."""
        call = self.call_of(shown)
        return [step.treatment for step in call.steps if step.treatment] if call else []

    def closing_note(self, shown: dict[str, Any], place: int) -> str:
        """Return what the vet in that place says at the end."""
        call = self.call_of(shown)
        notes = [s.note for s in call.steps if s.do is Do.FINISH and s.place == place] if call else []
        return notes[0] if notes else ""
