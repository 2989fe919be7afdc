"""Playing the script up to the moment that is shown: every step calls the service it names."""

from collections.abc import Callable, Iterator
from contextlib import suppress
from datetime import datetime

from cases.models import Call, ReportKind, Visit
from cases.services.call_ends import cancel_call, defer_call, give_advice, hand_over_call
from cases.services.calls import take_call
from cases.services.reminders import queue_due
from cases.services.treatments import record_treatment
from cases.services.visits import report_progress
from dispatch.demo.load.cast import Cast
from dispatch.demo.load.clock import EveningClock
from dispatch.demo.scenario.kinds import DemoCall, Do, Step
from dispatch.errors import CannotGo
from dispatch.models import Offer
from dispatch.services.assigning import assign_by_hand
from dispatch.services.offers import accept_offer, decline_offer, put_offer
from rotas.models import Member

ADVICE_MIN = 10
"""Minutes that a vet's telephone advice takes in the script."""
NOBODY_ELSE = "Nobody within the limits could be there in time."
SAYS_FIT = "An animal in need, nobody rested who is soon enough, and the vet says they are fit to go."
THEIR_VET = "their vet on call"
REPORTS = {
    Do.SET_OUT: ReportKind.SET_OUT,
    Do.ON_FARM: ReportKind.ON_FARM,
    Do.ESTIMATE: ReportKind.ESTIMATE,
    Do.FINISH: ReportKind.FINISHED,
    Do.HOME: ReportKind.HOME,
}

Play = Callable[[DemoCall, Step], object]


class Evening:
    """The script on the practice's rows."""

    def __init__(self, cast: Cast, clock: EveningClock) -> None:
        self.cast, self.clock = cast, clock
        self.calls: dict[str, Call] = {}
        self.plays: dict[Do, Play] = {
            Do.ADVISE: self._advise,
            Do.OFFER: self._offer,
            Do.ACCEPT: self._accept,
            Do.DECLINE: self._decline,
            Do.TREAT: self._treat,
            Do.DEFER: self._defer,
            Do.HAND_OVER: self._hand_over,
            Do.CANCEL: self._cancel,
            **dict.fromkeys(REPORTS, self._report),
        }

    def play(self, since: datetime) -> int:
        """Play what happens in [since, now] and return how many calls were taken.

        A call that came before `since` is left out whole, with everything done about it.
        """
        for _, call, step in self._in_order(since):
            if step is None:
                self.calls[call.id] = self._take(call)
            else:
                self.plays[step.do](call, step)
        return len(self.calls)

    def _in_order(self, since: datetime) -> Iterator[tuple[int, DemoCall, Step | None]]:
        events: list[tuple[int, DemoCall, Step | None]] = []
        for call in self.cast.demo.calls:
            if self.clock.at(call.at_min) >= since:
                events.append((call.at_min, call, None))
                events.extend((step.at_min, call, step) for step in call.steps)
        yield from sorted((e for e in events if e[0] <= self.clock.now_min), key=lambda event: event[0])

    def _take(self, call: DemoCall) -> Call:
        return take_call(
            practice=self.cast.practice,
            actor=self.cast.members[call.taken_by],
            now=self.clock.at(call.at_min),
            complaint=call.complaint,
            species=call.species,
            answers=dict(call.answers),
            caller_phone=call.phone,
            caller_name=call.caller,
            location_id=self.cast.farms[call.location].pk,
            place_note=call.place_note,
            details=call.caller_says,
            affected=call.affected,
            onset_at=None if call.onset_min is None else self.clock.at(call.onset_min),
        )

    def _who(self, step: Step) -> Member:
        return self.cast.members[step.by or step.vet or ""]

    def _pk(self, call: DemoCall) -> int:
        return self.calls[call.id].pk

    def _advise(self, call: DemoCall, step: Step) -> None:
        """Write the advice; it ends the call unless the script goes on with it."""
        who = self._who(step)
        give_advice(
            call_id=self._pk(call),
            actor=who,
            now=self.clock.at(step.at_min),
            vet_id=self.cast.vets[step.by or ""].pk,
            minutes=ADVICE_MIN,
            outcome=step.note,
            ends_call=step is call.steps[-1],
        )

    def _offer(self, call: DemoCall, step: Step) -> None:
        """Put the call to the script's vet.

        Whom a rest limit keeps from it at this hour of the real day is not asked: where the script
        has them go, they are assigned by hand with a manager's name; else the others are asked.
        """
        goes = any(s.do is Do.ACCEPT and (s.vet, s.place) == (step.vet, step.place) for s in self._told(call))
        others = () if goes else [vet for vet in self._on_duty(step.at_min) if vet != step.vet]
        for vet in (step.vet or "", *others):
            with suppress(CannotGo):
                self._put(call, step, vet)
                return

    def _told(self, call: DemoCall) -> Iterator[Step]:
        return (step for step in call.steps if step.at_min <= self.clock.now_min)

    def _on_duty(self, minute: int) -> list[str]:
        return [s.vet for s in self.cast.demo.shifts if s.start_min <= minute < s.end_min]

    def _put(self, call: DemoCall, step: Step, vet: str) -> None:
        put_offer(
            call_id=self._pk(call),
            vet_id=self.cast.vets[vet].pk,
            actor=self._who(step),
            now=self.clock.at(step.at_min),
            place=step.place,
        )

    def _open_offer(self, call: DemoCall, step: Step) -> Offer | None:
        vet = self.cast.vets[step.vet or ""]
        return Offer.objects.open().filter(call=self._pk(call), vet=vet, place=step.place).first()

    def _accept(self, call: DemoCall, step: Step) -> None:
        offer, at = self._open_offer(call, step), self.clock.at(step.at_min)
        if offer is not None:
            accept_offer(offer_id=offer.pk, actor=self._who(step), now=at)
            return
        assign_by_hand(
            call_id=self._pk(call),
            vet_id=self.cast.vets[step.vet or ""].pk,
            actor=self.cast.members[call.taken_by],
            now=at,
            reason=NOBODY_ELSE,
            place=step.place,
            approved_by_id=self.cast.manager.pk,
            approval_reason=SAYS_FIT,
        )

    def _decline(self, call: DemoCall, step: Step) -> None:
        offer = self._open_offer(call, step)
        assert offer is not None
        decline_offer(
            offer_id=offer.pk,
            actor=self._who(step),
            now=self.clock.at(step.at_min),
            reason=step.reason,
            note=step.note,
        )

    def _visit(self, call: DemoCall, step: Step) -> Visit:
        return Visit.objects.standing().get(call=self._pk(call), place=step.place)

    def _report(self, call: DemoCall, step: Step) -> None:
        at = self.clock.at(step.at_min)
        report_progress(
            visit_id=self._visit(call, step).pk,
            actor=self._who(step),
            now=at,
            kind=REPORTS[step.do],
            happened_at=at,
            key=f"demo-{step.do}-{step.at_min}",
            minutes=step.minutes,
            note=step.note,
        )

    def _treat(self, call: DemoCall, step: Step) -> None:
        given, at = step.treatment, self.clock.at(step.at_min)
        assert given is not None
        record_treatment(
            visit_id=self._visit(call, step).pk,
            actor=self._who(step),
            now=at,
            medicine_id=self.cast.medicines[given.medicine].pk,
            route=given.route,
            dose_amount=given.dose_amount,
            dose_unit=given.dose_unit,
            first_given_at=at,
            doses=given.doses,
            animal_id=self.cast.animals[given.animal].pk if given.animal else None,
            group_id=self.cast.groups[given.group].pk if given.group else None,
            marks=given.marks,
            batch=given.batch,
        )
        queue_due(now=at)  # the farm is told while the vet stands there; nobody has said that they read it

    def _defer(self, call: DemoCall, step: Step) -> None:
        """Leave the call until the day team's first minute on the rota."""
        assert step.until_min is not None
        defer_call(
            call_id=self._pk(call),
            actor=self._who(step),
            now=self.clock.at(step.at_min),
            until=self.clock.on_rota(step.until_min),
            reason=step.reason,
        )

    def _hand_over(self, call: DemoCall, step: Step) -> None:
        hand_over_call(
            call_id=self._pk(call),
            actor=self._who(step),
            now=self.clock.at(step.at_min),
            accepted_by=THEIR_VET,
            told=step.reason,
            neighbour=step.to,
        )

    def _cancel(self, call: DemoCall, step: Step) -> None:
        cancel_call(
            call_id=self._pk(call),
            actor=self._who(step),
            now=self.clock.at(step.at_min),
            reason=step.reason,
        )
