"""What the parts of the desk read from: the situation, and the plan in force if it can be read."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from cases.models import Call
from dispatch.desk.words import clock_words
from dispatch.inputs.names import call_name, key_of, vet_name
from dispatch.inputs.tired import under_way
from dispatch.planner.plan import LimitPassed, Ranked, Route, Stop, Unassigned, Verdict
from dispatch.services.kept_plan import KeptPlan
from dispatch.situation.load import Situation
from dispatch.situation.whereabouts import Whereabouts, whereabouts
from rotas.fatigue.state import State
from rotas.models import Vet
from rotas.services.fatigue import plain_states


@dataclass(frozen=True)
class View:
    """The situation now, and what the last plan said; the plan may be older than the situation."""

    situation: Situation
    kept: KeptPlan | None

    @property
    def now(self) -> datetime:
        """The moment that is shown."""
        return self.situation.now

    def clock(self, at: datetime | None) -> str:
        """Say when, on the practice's clock; nothing where nobody knows."""
        return "" if at is None else clock_words(at, self.now, self.situation.practice.tz)

    def at(self, minute: int) -> datetime:
        """Return the instant of one of the plan's minutes."""
        assert self.kept is not None
        return self.kept.at(minute)

    def name_of(self, vet: str) -> str:
        """Return a vet's name from the name in the plan."""
        known = self.situation.crew.get(key_of(vet))
        return known.name if known else "a vet who has left"

    @cached_property
    def ranking(self) -> Mapping[str, Ranked]:
        """The planner's order by job."""
        return {item.job: item for item in self.kept.answer.ranking} if self.kept else {}

    @cached_property
    def unassigned(self) -> Mapping[str, Unassigned]:
        """Jobs that no vet of the plan goes to."""
        return {item.job: item for item in self.kept.answer.unassigned} if self.kept else {}

    @cached_property
    def routes(self) -> Mapping[str, Route]:
        """Planned routes by vet."""
        return {item.vet: item for item in self.kept.answer.routes} if self.kept else {}

    @cached_property
    def _verdicts(self) -> Mapping[tuple[str, str], Verdict]:
        return {(item.job, item.vet): item for item in self.kept.answer.verdicts} if self.kept else {}

    def stops_of(self, call: Call) -> tuple[tuple[str, Stop], ...]:
        """Return who goes to a call in the plan, and when."""
        return self.kept.answer.stops_of(call_name(call)) if self.kept else ()

    def sooner(self, call: Call) -> tuple[LimitPassed, ...]:
        """Return who could be there before the plan's vet, past a limit, where that one comes too late."""
        passed = self.kept.answer.sooner if self.kept else ()
        return tuple(each for each in passed if each.job == call_name(call))

    def verdict(self, call: Call, vet: Vet) -> Verdict | None:
        """Return what the plan says of one vet and one call."""
        return self._verdicts.get((call_name(call), vet_name(vet)))

    @cached_property
    def tired(self) -> Mapping[int, State]:
        """How tired each vet in play is."""
        known = self.situation
        working = {vet.pk: tuple(under_way(known, vet)) for vet in known.vets}
        return plain_states(known.practice, known.vets, self.now, said=known.said, under_way=working)

    @cached_property
    def where(self) -> Mapping[int, Whereabouts]:
        """Where each vet in play is."""
        return {vet.pk: whereabouts(self.situation, vet) for vet in self.situation.vets}

    @cached_property
    def in_order(self) -> tuple[Call, ...]:
        """Open calls in the planner's order; the ones it has not seen yet after them, oldest first."""

        def place(call: Call) -> tuple[int, datetime]:
            ranked = self.ranking.get(call_name(call))
            return ranked.position if ranked else 1 << 20, call.called_at

        return tuple(sorted(self.situation.calls, key=place))
