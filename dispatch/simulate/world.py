"""The night as it happens, event by event (SimPy): calls come, vets are asked, drive, work, go home.

The policy is asked at every event and sees only the desk. What is drawn for a call and a vet is
used whoever decides, so that two policies on one night differ by their decisions alone.
"""

from collections.abc import Generator, Mapping
from time import perf_counter
from typing import Any

import simpy

from dispatch.planner.plan import Stop
from dispatch.simulate.calls import Answer, NightCall
from dispatch.simulate.desk import Decision, Desk, HandOver, LookAgain, Policy, Send, State, Waiting
from dispatch.simulate.limits import RestDesk
from dispatch.simulate.night import Night, NightNeighbour
from dispatch.simulate.on_duty import OnDuty
from dispatch.simulate.record import Asking, Attended, Record, Served, Signature
from dispatch.simulate.shelf import Shelf

Steps = Generator[simpy.Event, Any, None]
LOOK_EVERY_MIN = 15
"""Time is an event too: limits move, and what was held may be due."""
GIVEN_UP_MIN = 4 * 24 * 60


class NobodyEverCame(RuntimeError):
    """Nobody was ever sent to a call: the night was drawn wrongly, or the policy forgets calls."""


class Tracked:
    """One call as the night goes on. `kept` maps a vet to (until minute, why)."""

    def __init__(self, call: NightCall) -> None:
        self.call = call
        self.state = State.TO_COME
        self.kept: dict[str, tuple[float, str]] = {}
        self.times_asked: dict[str, int] = {}

    def seen(self, now: float) -> Waiting:
        """The call as the desk has it."""
        kept = {vet: why for vet, (until, why) in self.kept.items() if now < until}
        return Waiting(self.call, self.state, kept)


class NextDoor:
    """A neighbouring practice as the night goes on."""

    def __init__(self, neighbour: NightNeighbour) -> None:
        self.neighbour = neighbour
        self.taken = 0
        self.ours_until = 0.0
        self.being_asked = False
        self.told_busy_until = 0.0

    def busy_until(self, now: float) -> float:
        """When it is free again; now where it is free."""
        own = next((end for start, end in self.neighbour.busy if start <= now < end), now)
        return max(own, self.ours_until)

    def believed_free(self, now: float) -> bool:
        """What the desk thinks until it is told otherwise."""
        if self.being_asked or self.taken >= self.neighbour.most_calls:
            return False
        return now >= max(self.told_busy_until, self.ours_until)


class World:
    """One night under one policy."""

    def __init__(self, night: Night, policy: Policy) -> None:
        self.night, self.policy = night, policy
        self.env = simpy.Environment()
        self.rest = RestDesk(night)
        self.shelf = Shelf(night.shelf)
        self.record = Record(night, policy.name)
        self.vets = {vet.id: OnDuty(self, vet) for vet in night.crew}
        self.calls = {call.id: Tracked(call) for call in night.calls}
        self.neighbours = {each.id: NextDoor(each) for each in night.neighbours}
        self._live: dict[str, Tracked] = {}
        self._asked = False
        self._looks: set[float] = set()

    @property
    def now(self) -> float:
        """Minutes after the epoch."""
        return self.env.now

    def run(self) -> Record:
        """Let the night pass, to the end of the last visit."""
        self.env.process(self._arrivals())
        self.env.run()
        for vet in self.vets.values():
            vet.close()
        left = [each.call.id for each in self.calls.values() if each.state in (State.OPEN, State.RUNG)]
        if left:
            raise NobodyEverCame(f"night {self.night.seed}/{self.night.number}: {', '.join(left)}")
        return self.record

    def _arrivals(self) -> Steps:
        for call in sorted(self.night.calls, key=lambda each: (each.at, each.id)):
            yield self.env.timeout(call.at - self.now)
            self.calls[call.id].state = State.OPEN
            self._live[call.id] = self.calls[call.id]
            self.look()

    def look(self) -> None:
        """Have the policy decide once everything of this instant has happened."""
        if not self._asked:
            self._asked = True
            self.env.process(self._decide())

    def look_at(self, minute: float) -> None:
        """Have the policy decide at that minute."""
        if minute > self.now and minute not in self._looks:
            self._looks.add(minute)
            self.env.process(self._look_later(minute))

    def _look_later(self, minute: float) -> Steps:
        yield self.env.timeout(minute - self.now)
        self._looks.discard(minute)
        self.look()

    def _decide(self) -> Steps:
        yield self.env.timeout(0)
        self._asked = False
        waiting = [each for each in self._live.values() if each.state == State.OPEN]
        if not waiting:
            return
        if self.now > self.night.day_min + GIVEN_UP_MIN and self.night.rested:
            return
        self._wake_for(waiting)
        desk = self.desk()
        if not desk.due:
            return
        began = perf_counter()
        decisions = self.policy.decide(desk)
        self.record.seconds += perf_counter() - began
        self.record.decisions += 1
        for decision in decisions:
            self._carry_out(decision)

    def _wake_for(self, waiting: list[Tracked]) -> None:
        """The next look while calls are open: soon for what is due, at dawn for what waits for the day."""
        dawn = min(each.call.not_before for each in waiting)
        if not self.night.rested:
            return
        if dawn > self.now + 60:
            self.look_at(dawn - 20)
            return
        self.look_at((self.now // LOOK_EVERY_MIN + 1) * LOOK_EVERY_MIN)

    def desk(self) -> Desk:
        """What the desk knows at this moment."""
        now = int(self.now)
        states = (State.OPEN, State.RUNG, State.UNDER_WAY)
        waiting = tuple(each.seen(now) for each in self._live.values() if each.state in states)
        return Desk(
            night=self.night,
            now=now,
            waiting=waiting,
            vets=tuple(vet.seen() for vet in self.vets.values()),
            shelf=self.shelf.stores(now),
            neighbours=tuple(id for id, each in self.neighbours.items() if each.believed_free(now)),
        )

    def _carry_out(self, decision: Decision) -> None:
        if isinstance(decision, LookAgain):
            self.look_at(decision.at)
        elif isinstance(decision, HandOver):
            self.calls[decision.call].state = State.HANDED_OVER
            self.env.process(self._ask_neighbour(self.calls[decision.call], decision.neighbour))
        else:
            self._ring(decision)

    def _ring(self, send: Send) -> None:
        tracked = self.calls[send.call]
        if tracked.state != State.OPEN:
            raise ValueError(f"{send.call} is {tracked.state} and cannot be offered")
        tracked.state = State.RUNG
        for vet, _ in send.stops:
            self.vets[vet].rung = send.call
            self.record.asked.append(Asking(vet, send.call, self.now, self.vets[vet].ring()))
        self.env.process(self._answers(tracked, dict(send.stops), send.signed))

    def _answers(self, tracked: Tracked, stops: Mapping[str, Stop], signed: bool) -> Steps:
        """Wait until everybody asked has answered; only then is anybody sent."""
        asked = {}
        for vet in stops:
            asked[vet] = tracked.call.answer_of(vet, tracked.times_asked.get(vet, 0))
            tracked.times_asked[vet] = tracked.times_asked.get(vet, 0) + 1
        yield self.env.timeout(max(each.after_min for each in asked.values()))
        for vet in stops:
            self.vets[vet].rung = None
        if all(each.answer == Answer.ACCEPTS for each in asked.values()):
            self._accepted(tracked, stops, signed)
        else:
            self._keep_from(tracked, {vet: each.answer for vet, each in asked.items()})
            tracked.state = State.OPEN
        self.look()

    def _keep_from(self, tracked: Tracked, answers: Mapping[str, Answer]) -> None:
        manners = self.night.manners
        for vet, answer in answers.items():
            if answer == Answer.DECLINES:
                tracked.kept[vet] = (self.now + manners.ask_again_after_no_min, "Said no.")
            elif answer == Answer.SILENT:
                tracked.kept[vet] = (self.now + manners.ask_again_after_silence_min, "Did not answer.")

    def _accepted(self, tracked: Tracked, stops: Mapping[str, Stop], signed: bool) -> None:
        """Send them, unless meanwhile a limit or a shelf stands in the way: then the desk decides again."""
        lawful = signed or all(self.vets[vet].may_go(tracked.call, stop) for vet, stop in stops.items())
        if not lawful or not self.shelf.holds(code for stop in stops.values() for _, code in stop.fetch):
            self.record.turned_back += 1
            tracked.state = State.OPEN
            return
        tracked.state = State.UNDER_WAY
        self.record.exceptions += [self._signature(tracked, vet) for vet in stops if signed]
        self.env.process(self._attend(tracked, stops))

    def _signature(self, tracked: Tracked, vet: str) -> Signature:
        limit = self.vets[vet].home_by()
        return Signature(vet, tracked.call.id, self.now, limit.rule if limit else "")

    def _attend(self, tracked: Tracked, stops: Mapping[str, Stop]) -> Steps:
        """Turn out and drive; begin when all are there; work; drive home, or on to the next."""
        call, accepted = tracked.call, self.now
        travels = {vet: self.vets[vet].set_out(call, stop) for vet, stop in stops.items()}
        arrivals = {vet: self.now + travel.minutes for vet, travel in travels.items()}
        yield self.env.timeout(max(arrivals.values()) - self.now)
        tracked.state = State.STARTED
        del self._live[call.id]
        begun = self.now
        by_day = all(self.vets[vet].vet.on_from > 0 for vet in stops)
        self.record.served.append(Served(call, begun, by_day=by_day))
        for vet in stops:
            self.vets[vet].begin()
        self._notice_overrun(call)
        yield self.env.timeout(call.true_min)
        for vet, stop in stops.items():
            self.record.attended.append(
                Attended(vet, call.id, accepted, travels[vet].leaves, arrivals[vet], begun, self.now)
            )
            self.vets[vet].finish(call, stop)

    def _notice_overrun(self, call: NightCall) -> None:
        self.look_at(self.now + call.median_min)
        self.look_at(self.now + call.pessimistic_min)

    def _ask_neighbour(self, tracked: Tracked, name: str) -> Steps:
        """It is handed over only once somebody there accepts it by name."""
        door, call = self.neighbours[name], tracked.call
        answers_after, ready = door.neighbour.answers[call.id]
        door.being_asked = True
        yield self.env.timeout(answers_after)
        door.being_asked = False
        busy = door.busy_until(self.now)
        if busy > self.now or door.taken >= door.neighbour.most_calls:
            door.told_busy_until = busy
            tracked.state = State.OPEN
            self.look()
            return
        away = self.night.county.drive(door.neighbour.place, call.place)
        begun = self.now + ready + away
        door.taken += 1
        del self._live[call.id]
        door.ours_until = begun + call.true_min + away
        self.record.served.append(Served(call, begun, neighbour=name))
        self.look()


def worked(night: Night, policy: Policy) -> Record:
    """Work one night under one policy."""
    return World(night, policy).run()
