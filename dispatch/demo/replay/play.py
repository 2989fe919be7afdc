"""The evening's people together: callers ring when the script says, the rest follows from the site."""

from collections.abc import Iterable, Mapping
from datetime import timedelta
from functools import partial
from typing import Any

from dispatch.demo.replay.desk import DeskAtWork
from dispatch.demo.replay.person import Line, Say
from dispatch.demo.replay.script import Script
from dispatch.demo.replay.stage import Agenda, Clock, Pace
from dispatch.demo.replay.vet import VetAtWork
from dispatch.demo.scenario.kinds import DemoCall, Do, Scenario
from dispatch.travel import TravelTimes

DESK = "R2"
DESK_STEPS = (Do.ADVISE, Do.DEFER, Do.HAND_OVER, Do.CANCEL)
FINISHED = ("waiting", "accepted", "under_way")
LONGEST_AFTER_MIN = 240
"""Minutes after the script's last word at which the evening ends in any case."""

Shown = dict[str, Any]


class Replay:
    """One playing of the script from `from_min` on. `lines` are signed in, by the script's member id.

    `look` is how long nobody looks at the board while nothing of the script happens.
    """

    def __init__(
        self,
        demo: Scenario,
        calls: Iterable[DemoCall],
        lines: Mapping[str, Line],
        *,
        from_min: int,
        clock: Clock,
        speed: float,
        roads: TravelTimes,
        say: Say,
        look: timedelta,
    ) -> None:
        self.demo, self.clock, self.say, self.look = demo, clock, say, look
        self.agenda = Agenda(clock, Pace(speed))
        self.script = Script(demo, calls, from_min)
        names = {member.id: member.name for member in demo.members}
        self.desk = DeskAtWork(names[DESK], lines[DESK], say, self.agenda, self.script)
        self.vets = [
            VetAtWork(vet, lines[vet.id], say, self.agenda, self.script, roads)
            for vet in demo.vets
            if vet.id in lines
        ]
        by_name = {vet.member.name: vet.id for vet in demo.vets}
        self.desk.people = {by_name[vet.name]: vet for vet in self.vets}

    def play(self) -> None:
        """Play what the script holds after its minute, until everything has come to its end."""
        ends = self.clock.now() + self.agenda.pace.of(self._set_up() + LONGEST_AFTER_MIN)
        while not self._over() and self.clock.now() < ends:
            self.agenda.run_due()
            self._look()
            following = self.agenda.next_at
            latest = self.clock.now() + self.look
            self.clock.wait_until(min(following, latest) if following else latest)
        self.say("The evening is over." if self._over() else "The evening was long enough.")

    def _set_up(self) -> int:
        """Note the script's own events; return the minutes until the last one."""
        events = [(call.at_min, partial(self.desk.takes_call, call)) for call in self.script.calls]
        events += [
            (step.at_min, partial(self.desk.plays, call, step))
            for call in self.script.calls
            for step in call.steps
            if step.do in DESK_STEPS
        ]
        to_come = [
            (at_min - self.script.from_min, do) for at_min, do in events if at_min > self.script.from_min
        ]
        for minutes, do in to_come:
            self.agenda.after(minutes, do)
        return max((minutes for minutes, _ in to_come), default=0)

    def _look(self) -> None:
        """Let everybody see the board once."""
        calls = self.desk.rows("calls", state="open")
        offers = self.desk.rows("offers", whose="all", state="open")
        by_id = {call["id"]: call for call in calls}
        for vet in self.vets:
            self._tell(vet, by_id, offers)
        self.desk.gives_up(offers)
        self.desk.looks(calls, offers)

    def _tell(self, vet: VetAtWork, calls: dict[int, Shown], offers: list[Shown]) -> None:
        mine = [(v, c) for c in calls.values() for v in c["visits"] if v["vet"] == vet.id]
        standing = [(visit, call) for visit, call in mine if visit["state"] != "stood_down"]
        vet.lets_go({visit["id"] for visit, _ in standing})
        for visit, call in standing:
            vet.takes(visit, call)
        for offer in offers:
            if offer["vet"] == vet.id and offer["call"]["id"] in calls:
                vet.hears(offer, calls[offer["call"]["id"]])

    def _over(self) -> bool:
        """Say whether nothing is noted and nobody waits; what is left for the day team may stay."""
        if self.agenda.next_at is not None or not all(vet.idle for vet in self.vets):
            return False
        return not any(call["state"] in FINISHED for call in self.desk.rows("calls", state="open"))
