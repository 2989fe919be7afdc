"""A vet of the evening: answers offers, drives, works, treats, reports, and goes home."""

from datetime import datetime
from functools import partial
from typing import Any

from dispatch.demo.replay.person import Line, Person, Say, instant
from dispatch.demo.replay.script import Script
from dispatch.demo.replay.stage import Agenda
from dispatch.demo.scenario.kinds import DemoTreatment, DemoVet, Do
from dispatch.travel import Point, TravelTimes

TURNOUT_MIN = 4
COMPANY_WAITS_MIN = 60
"""Minutes the first of two vets waits for the other before the job begins all the same."""
ASKS_AGAIN_MIN = 3
TELLS_WHAT_IS_LEFT_MIN = 60
"""A job at least so long is worth an estimate."""

Shown = dict[str, Any]


class VetAtWork(Person):
    """One vet. `roads` gives the drives; `medicines` and `animals` are what the API calls them."""

    def __init__(
        self, vet: DemoVet, line: Line, say: Say, agenda: Agenda, script: Script, roads: TravelTimes
    ) -> None:
        super().__init__(vet.member.name, line, say)
        self.agenda, self.script, self.roads = agenda, script, roads
        self.id: int = self.me["vet"]
        self.home = self.place = vet.home
        self.heard: set[int] = set()
        self.known: set[int] = set()
        self.queue: list[tuple[Shown, Shown]] = []
        self.job: tuple[Shown, Shown] | None = None

    # --- what the telephone brings ------------------------------------------------------------

    def hears(self, offer: Shown, call: Shown) -> None:
        """Notice an offer and answer it when the script would."""
        if offer["id"] in self.heard:
            return
        self.heard.add(offer["id"])
        do, minutes, step = self.script.next_answer(call)
        self.say(f"{self.first_name}'s telephone rings: call {call['number']}, {call['trade_name']}.")
        if do is Do.ACCEPT:
            self.agenda.after(minutes, partial(self._accept, offer, call))
        elif do is Do.DECLINE and step is not None:
            self.agenda.after(minutes, partial(self._decline, offer, step.reason, step.note))
        else:
            self.say(f"{self.first_name} sleeps through it.")

    def _accept(self, offer: Shown, call: Shown) -> None:
        visit = self.does(f"offers/{offer['id']}/accept", happened_at=instant(self.agenda.clock.now()))
        if visit is not None:
            self.say(f"{self.first_name} accepts call {call['number']}.")
            self.takes(visit, call)

    def _decline(self, offer: Shown, reason: str, note: str) -> None:
        if self.does(f"offers/{offer['id']}/decline", reason=reason, note=note) is not None:
            self.say(f"{self.first_name} declines: {reason.replace('_', ' ')}.")

    def takes(self, visit: Shown, call: Shown) -> None:
        """Take up a visit in whatever state it is; known ones are left alone."""
        if visit["id"] in self.known:
            return
        self.known.add(visit["id"])
        if visit["state"] == "accepted":
            self.queue.append((visit, call))
            self._go_on()
        elif visit["state"] in ("set_out", "on_farm"):
            self._goes_on_with(visit, call)

    def _goes_on_with(self, visit: Shown, call: Shown) -> None:
        """Take up what was under way when the evening was taken up."""
        self.job = (visit, call)
        if visit["state"] == "on_farm":
            self.place = _farm(call)
            self._begin_when_together(visit, call, self.agenda.clock.now())
            return
        there_min = self.script.minutes_till_there(call, visit["place"])
        minutes = self._minutes_to(_farm(call)) if there_min is None else there_min
        self.agenda.after(minutes, partial(self._arrive, visit, call))

    def lets_go(self, open_visits: set[int]) -> None:
        """Turn round where a job is no longer ours: cancelled, or given to somebody else."""
        self.queue = [(v, c) for v, c in self.queue if v["id"] in open_visits]
        if self.job and self.job[0]["id"] not in open_visits:
            self.say(f"{self.first_name} is stood down from call {self.job[1]['number']} and turns round.")
            self.job = None
            self._go_on()

    @property
    def idle(self) -> bool:
        """Say whether nothing is left to do."""
        return self.job is None and not self.queue

    # --- on the road --------------------------------------------------------------------------

    def _go_on(self) -> None:
        """Set out to the next job after turning out."""
        if self.job is None and self.queue:
            self.job = self.queue.pop(0)
            self.agenda.after(TURNOUT_MIN, partial(self._set_out, *self.job))

    def _set_out(self, visit: Shown, call: Shown) -> None:
        if self._has(visit):
            self._report(visit, "set_out")
            self.say(f"{self.first_name} sets out to {call['location']['name']}.")
            self.agenda.after(self._minutes_to(_farm(call)), partial(self._arrive, visit, call))

    def _minutes_to(self, place: Point) -> int:
        return self.roads.minutes([self.place], [place], self.agenda.clock.now())[0][0]

    def _arrive(self, visit: Shown, call: Shown) -> None:
        if self._has(visit):
            self._report(visit, "on_farm")
            self.place = _farm(call)
            self.say(f"{self.first_name} is at {call['location']['name']}.")
            self._begin_when_together(visit, call, self.agenda.clock.now())

    def _has(self, visit: Shown) -> bool:
        return self.job is not None and self.job[0]["id"] == visit["id"]

    # --- on the farm --------------------------------------------------------------------------

    def _begin_when_together(self, visit: Shown, call: Shown, since: datetime) -> None:
        """Begin; a job for two begins when both are there."""
        if not self._has(visit):
            return
        if self._alone(call) and self.agenda.clock.now() - since < self.agenda.pace.of(COMPANY_WAITS_MIN):
            wait = partial(self._begin_when_together, visit, call, since)
            self.agenda.after(ASKS_AGAIN_MIN, wait)
            return
        minutes = self.script.minutes_on_farm(call)
        if minutes >= TELLS_WHAT_IS_LEFT_MIN:
            left = self.agenda.pace.of(minutes).total_seconds() / 60
            self._report(visit, "estimate", minutes=max(1, round(left)))
        self.agenda.after(minutes, partial(self._finish, visit, call))

    def _alone(self, call: Shown) -> bool:
        if call["vets_needed"] < 2:
            return False
        visits = self.line.get(f"calls/{call['id']}")["visits"]
        return sum(row["state"] in ("on_farm", "finished") for row in visits) < 2

    def _finish(self, visit: Shown, call: Shown) -> None:
        if not self._has(visit):
            return
        if visit["place"] == 1:
            for given in self.script.treatments(call):
                self._treat(visit, call, given)
        note = self.script.closing_note(call, visit["place"])
        self._report(visit, "finished", note=note)
        self.say(f"{self.first_name} has finished call {call['number']}. {note}".strip())
        self.job = None
        self._go_on()
        if self.job is None:
            self.agenda.after(self._minutes_to(self.home), partial(self._home, visit))

    def _home(self, visit: Shown) -> None:
        """Report home, unless something new has come on the way."""
        if self.idle:
            self._report(visit, "home")
            self.place = self.home
            self.say(f"{self.first_name} is home.")

    def _treat(self, visit: Shown, call: Shown, given: DemoTreatment) -> None:
        body = {
            "medicine": self._medicine(given.medicine),
            "route": given.route,
            "dose_amount": float(given.dose_amount),
            "dose_unit": given.dose_unit,
            "doses": given.doses,
            "first_given_at": instant(self.agenda.clock.now()),
            "marks": given.marks,
            "batch": given.batch,
        }
        treated = self.does(f"visits/{visit['id']}/treatments", **body, **self._whom(call, given))
        if treated is not None:
            self.say(f"{self.first_name} gave {treated['medicine_name']}: {_periods(treated)}.")

    def _medicine(self, name: str) -> int:
        wanted = next(medicine for medicine in self.script.demo.medicines if medicine.id == name)
        words = (wanted.substance, wanted.strength, wanted.form)
        rows = self.rows("medicines")
        return next(row["id"] for row in rows if (row["substance"], row["strength"], row["form"]) == words)

    def _whom(self, call: Shown, given: DemoTreatment) -> dict[str, int]:
        """Return the animal or the group as the API calls it."""
        places = self.script.demo.locations.values()
        farm = next(
            row
            for row in self.rows("locations", q=call["location"]["name"])
            if row["id"] == call["location"]["id"]
        )
        if given.group is not None:
            name = next(g.name for place in places for g in place.groups if g.id == given.group)
            return {"group": next(row["id"] for row in farm["groups"] if row["name"] == name)}
        tag = next(a.tag for place in places for a in place.animals if a.id == given.animal)
        return {"animal": next(row["id"] for row in farm["animals"] if row["tag"] == tag)}

    def _report(self, visit: Shown, kind: str, **more: Any) -> None:
        at = instant(self.agenda.clock.now())
        self.does(f"visits/{visit['id']}/reports", kind=kind, happened_at=at, **more)


def _farm(call: Shown) -> Point:
    return Point(call["location"]["latitude"], call["location"]["longitude"])


def _periods(treated: Shown) -> str:
    """Say what the treatment keeps out of the food chain, and that the label governs."""
    words = [f"{row['commodity']} {row['state'].replace('_', ' ')}" for row in treated["withdrawals"]]
    return ", ".join(words) or "nothing is sold from this animal"
