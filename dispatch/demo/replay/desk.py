"""Reception of the evening: takes calls, offers them as the plan says, finds another way where it must."""

from datetime import datetime, timedelta
from typing import Any

from dispatch.demo.replay.person import Line, Person, Say, instant, moment
from dispatch.demo.replay.script import Script
from dispatch.demo.replay.stage import Agenda
from dispatch.demo.scenario.kinds import DemoCall, Do, Step

SOON = timedelta(minutes=20)
"""An offer goes out this long before the plan has the vet leave."""
OTHER_WAY_MIN = 10
"""Minutes for which no plan has a vet for a call before another way is looked for."""
ADVICE_MIN = 10
THEIR_VET = "their vet on call"
HORSES = "equine"

Shown = dict[str, Any]


class DeskAtWork(Person):
    """Whoever sits at the desk. `people` are the others by their id in the script, for their own steps."""

    def __init__(self, name: str, line: Line, say: Say, agenda: Agenda, script: Script) -> None:
        super().__init__(name, line, say)
        self.agenda, self.script = agenda, script
        self.people: dict[str, Person] = {}
        self.without_a_vet: dict[int, datetime] = {}
        self.waiting_since: dict[int, datetime] = {}
        self.refused: set[tuple[int, int, int]] = set()

    # --- the telephone ------------------------------------------------------------------------

    def takes_call(self, call: DemoCall) -> None:
        """Take a call as the script's caller tells it."""
        farm = self.script.demo.locations[call.location]
        row = next(row for row in self.rows("locations", q=farm.farm) if row["name"] == farm.farm)
        onset = None
        if call.onset_min is not None:
            onset = instant(self.agenda.clock.now() - timedelta(minutes=call.at_min - call.onset_min))
        taken = self.does(
            "calls",
            complaint=call.complaint,
            species=call.species,
            answers=dict(call.answers),
            caller_phone=call.phone,
            caller_name=call.caller,
            location=row["id"],
            place_note=call.place_note,
            details=call.caller_says,
            affected=call.affected,
            onset_at=onset,
        )
        if taken is not None:
            told = f"{taken['trade_name']} at {farm.farm}, {taken['urgency'].replace('_', ' ')}"
            self.say(f"{self.first_name} takes call {taken['number']}: {told}.")

    def plays(self, call: DemoCall, step: Step) -> None:
        """Do one of the script's steps that ends or puts off a call, if the call still allows it."""
        shown = next(
            (row for row in self.rows("calls", state="open") if self.script.call_of(row) is call), None
        )
        if shown is None:
            return
        who = self.people.get(step.by or "", self)
        last = step is call.steps[-1]
        path, body = f"calls/{shown['id']}", self._body(step, last=last)
        name = {Do.ADVISE: "advise", Do.DEFER: "defer", Do.HAND_OVER: "hand-over", Do.CANCEL: "cancel"}[
            step.do
        ]
        if who.does(f"{path}/{name}", **body) is not None:
            word = step.note or step.reason
            self.say(f"Call {shown['number']}, {name.replace('-', ' ')} by {who.first_name}: {word}")

    def _body(self, step: Step, *, last: bool) -> dict[str, Any]:
        if step.do is Do.ADVISE:
            vet = self.people[step.by or ""].me["vet"]
            minutes = max(1, round(self.agenda.pace.of(ADVICE_MIN).total_seconds() / 60))
            return {"vet": vet, "minutes": minutes, "outcome": step.note, "ends_call": last}
        if step.do is Do.DEFER:
            return {"until": instant(self._day_team_at()), "reason": step.reason}
        if step.do is Do.HAND_OVER:
            return {"neighbour": step.to, "accepted_by": THEIR_VET, "told": step.reason}
        return {"reason": step.reason}

    def _day_team_at(self) -> datetime:
        now = self.agenda.clock.now()
        starts = [moment(row["starts_at"]) for row in self.rows("shifts") if row["role"] == "day"]
        return min(start for start in starts if start is not None and start > now)

    # --- the plan -----------------------------------------------------------------------------

    def looks(self, calls: list[Shown], offers: list[Shown]) -> None:
        """Offer what the plan wants somebody to leave for soon; find another way for what it cannot place."""
        asked = {offer["vet"] for offer in offers}
        on_offer = [offer["call"]["id"] for offer in offers]
        waiting = [call for call in calls if self._wants_somebody(call, on_offer)]
        waiting = [call for call in waiting if not self.script.ends_without_a_visit(call)]
        if not waiting:
            return
        plan = self.line.get("plan")
        for call in _in_order(waiting, plan):
            if not self._offer(call, plan, asked):
                self._notice(call, plan, on_offer)

    def _wants_somebody(self, call: Shown, on_offer: list[int]) -> bool:
        begins = moment(call["not_before"])
        waits = call["state"] == "waiting" or (
            call["state"] == "deferred" and begins is not None and begins <= self.agenda.clock.now()
        )
        held = sum(visit["state"] != "stood_down" for visit in call["visits"]) + on_offer.count(call["id"])
        return waits and call["visit_wanted"] and held < call["vets_needed"]

    def _offer(self, call: Shown, plan: Shown, asked: set[int]) -> bool:
        """Offer a call to the vets whom the plan sends soon; say whether the plan sends anybody at all."""
        stops = [(r["vet"], s) for r in plan["routes"] for s in r["stops"] if s["call"] == call["id"]]
        holding = {visit["vet"] for visit in call["visits"] if visit["state"] != "stood_down"}
        for vet, stop in stops:
            leave, tried = moment(stop["leave_at"]), (plan["id"], call["id"], vet)
            soon = leave is not None and leave <= self.agenda.clock.now() + SOON
            if soon and vet not in asked | holding and tried not in self.refused:
                asked.add(vet)
                if self.does("offers", call=call["id"], vet=vet) is None:
                    self.refused.add(tried)
        if stops:
            self.without_a_vet.pop(call["id"], None)
        return bool(stops)

    def _notice(self, call: Shown, plan: Shown, on_offer: list[int]) -> None:
        """Note a call that the plan has nobody for; after a while look for another way."""
        left = next((row for row in plan["unassigned"] if row["call"] == call["id"]), None)
        if left is None or call["id"] in on_offer:
            return
        now = self.agenda.clock.now()
        since = self.without_a_vet.setdefault(call["id"], now)
        if now - since >= self.agenda.pace.of(OTHER_WAY_MIN):
            self._another_way(call, left)

    def _another_way(self, call: Shown, left: Shown) -> None:
        """Leave the call for the day team where the plan says so, else hand it to a neighbour."""
        why = left["sentence"] or "Nobody here can be there in time."
        if left["outcome"] == "deferred":
            agreed = next((row["id"] for row in self.rows("vets") if row["on_duty"]), None)
            body = {"until": instant(self._day_team_at()), "reason": why, "agreed_by_vet": agreed}
            if self.does(f"calls/{call['id']}/defer", **body) is not None:
                self.say(f"Call {call['number']} is left for the day team. {why}")
                return
        equine = call["species"] == "horse"
        to = next(n.name for n in self.script.demo.neighbours if (HORSES in n.skills) == equine)
        body = {"neighbour": to, "accepted_by": THEIR_VET, "told": why}
        if self.does(f"calls/{call['id']}/hand-over", **body) is not None:
            self.say(f"Call {call['number']} is handed over to {to}. {why}")

    def gives_up(self, offers: list[Shown]) -> None:
        """Take back offers that nobody answers, where the evening runs faster than offers lapse.

        They are given the minutes that an offer has, at the pace of the evening, from when they are seen.
        """
        if self.agenda.pace.speed <= 1:
            return
        now = self.agenda.clock.now()
        for offer in offers:
            made, lapses = moment(offer["made_at"]), moment(offer["lapses_at"])
            seen = self.waiting_since.setdefault(offer["id"], now)
            if made and lapses and now - seen >= (lapses - made) / self.agenda.pace.speed:
                self.say(f"{offer['vet_name']} did not answer about call {offer['call']['number']}.")
                self.does(f"offers/{offer['id']}/withdraw", reason="No answer.")


def _in_order(calls: list[Shown], plan: Shown) -> list[Shown]:
    """Return the calls in the plan's order, those it has not seen after them."""
    position = {row["call"]: row["position"] for row in plan["ranking"]}
    return sorted(calls, key=lambda call: (position.get(call["id"], len(position) + 1), call["called_at"]))
