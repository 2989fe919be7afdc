"""Kit in the one model: pieces followed through each car's work, and counted on each shelf.

Of one code a car holds pieces ready now and pieces ready later; a job takes one that is ready, else the
one that is ready first, else one is fetched. What is fetched and not used up stays in the car, ready.
"""

from dataclasses import dataclass

from ortools.sat.python import cp_model

from dispatch.planner.problem import Job, Vet
from dispatch.planner.rivals.one_shot_choices import Choices, Expression
from dispatch.planner.rivals.one_shot_rules import later_than
from dispatch.planner.rules import is_exempt


def a_shelf_gives_what_it_has(found: Choices) -> None:
    """No more pieces are fetched from a shelf than lie on it."""
    for index, store in enumerate(found.problem.stores):
        fetched = [taken for ways in found.ways.values() for way, taken in ways if index in way.stores]
        found.model.add(sum(fetched) <= store.count)


def kit_comes_from_the_car_or_is_fetched(found: Choices) -> None:
    """A vet with a ready piece takes that; without, waits for one that will be ready, or fetches one."""
    for vet in found.problem.vets:
        codes = {code for job in found.jobs[vet.id] for code in job.kit}
        for code in sorted(codes):
            _Code(found, vet, code).follow()


@dataclass(frozen=True)
class _Taking:
    """What one job does with a code: all 0-or-1 expressions, and all 0 where the vet does not go.

    `fetched` a piece; one used up that was ready (`spent`), or that had to be waited for (`waited`);
    `ready` whether one was ready on arrival.
    """

    job: Job
    fetched: Expression
    spent: cp_model.IntVar
    waited: cp_model.IntVar
    ready: cp_model.IntVar


class _Code:
    """One code in one car."""

    def __init__(self, found: Choices, vet: Vet, code: str) -> None:
        self.found, self.vet, self.code = found, vet, code
        self.model = found.model
        self.jobs = [job for job in found.jobs[vet.id] if code in job.kit]
        minutes = sorted(item.ready_at for item in vet.kit if item.code == code)
        self.ready_now = sum(minute <= 0 for minute in minutes)
        self.ready_later = [minute for minute in minutes if minute > 0]

    def follow(self) -> None:
        if self.ready_now and not any(self.code in job.kit_used for job in self.jobs):
            return  # there is always one ready
        takings = [self._taking(job) for job in self.jobs]
        before = self._orders()
        for mine in takings:
            earlier = [(before[other.job.id, mine.job.id], other) for other in takings if other is not mine]
            ready = self.ready_now + sum(
                self._both(first, other.fetched) - self._both(first, other.spent) for first, other in earlier
            )
            waited = sum(self._both(first, other.waited) for first, other in earlier)
            self._take(mine, ready, waited)

    def _taking(self, job: Job) -> _Taking:
        name = f"{self.vet.id} {job.id} {self.code}"
        spent, waited, ready = (
            self.model.new_bool_var(f"{name} {word}") for word in ("spent", "waited", "ready")
        )
        return _Taking(job, sum(taken for taken in self._fetching(job)), spent, waited, ready)

    def _fetching(self, job: Job) -> list[cp_model.IntVar]:
        stores = self.found.problem.stores
        return [
            taken
            for way, taken in self.found.ways[self.vet.id, job.id]
            if any(stores[shelf].code == self.code for shelf in way.stores)
        ]

    def _from_car(self, job: Job) -> list[cp_model.IntVar]:
        stores = self.found.problem.stores
        return [
            taken
            for way, taken in self.found.ways[self.vet.id, job.id]
            if way.brings and not any(stores[shelf].code == self.code for shelf in way.stores)
        ]

    def _orders(self) -> dict[tuple[str, str], cp_model.IntVar]:
        """For each two of the jobs, whether the vet goes to both and to the one first."""
        before = {}
        for index, one in enumerate(self.jobs):
            for other in self.jobs[index + 1 :]:
                both = [self.found.goes[self.vet.id, job.id] for job in (one, other)]
                for first, last in ((one, other), (other, one)):
                    literal = self.model.new_bool_var(f"{self.vet.id} {first.id} before {last.id}")
                    before[first.id, last.id] = literal
                    self.model.add(later_than(self.found, self.vet, first, last)).only_enforce_if(literal)
                    for goes in both:
                        self.model.add_implication(literal, goes)
                self.model.add_bool_or(
                    before[one.id, other.id], before[other.id, one.id], *(~goes for goes in both)
                )
        return before

    def _both(self, first: cp_model.IntVar, what: Expression) -> Expression:
        if isinstance(what, int):
            return 0 if what == 0 else first
        both = self.model.new_bool_var("")
        self.model.add(both <= first)
        self.model.add(both <= what)
        self.model.add(both >= first + what - 1)
        return both

    def _take(self, mine: _Taking, ready: Expression, waited: Expression) -> None:
        """`ready` pieces lie ready in the car before the job, and `waited` of the later ones are used up."""
        model, goes = self.model, self.found.goes[self.vet.id, mine.job.id]
        model.add(ready >= 1).only_enforce_if(mine.ready)
        model.add(ready <= 0).only_enforce_if([~mine.ready, goes])
        remaining = len(self.ready_later) - waited
        if is_exempt(self.found.problem, self.vet.id, mine.job.id):
            self._go_as_it_is(mine, remaining)
            return
        for taken in self._fetching(mine.job):
            model.add_implication(taken, ~mine.ready)
        for taken in self._from_car(mine.job):
            self._wait(mine, taken, remaining, waited)
        self._use_up(mine)

    def _wait(self, mine: _Taking, taken: cp_model.IntVar, remaining: Expression, waited: Expression) -> None:
        """With no piece ready, start no sooner than the first that will be."""
        start = self.found.start[self.vet.id, mine.job.id]
        self.model.add(remaining >= 1).only_enforce_if([taken, ~mine.ready])
        for index, minute in enumerate(self.ready_later):
            gone = self.model.new_bool_var("")  # the pieces before this one are used up
            self.model.add(waited >= index).only_enforce_if(gone)
            self.model.add(waited <= index - 1).only_enforce_if(~gone)
            self.model.add(start >= minute).only_enforce_if([taken, ~mine.ready, gone])
            self.found.waits[self.vet.id, mine.job.id].append(([taken, ~mine.ready, gone], minute))

    def _use_up(self, mine: _Taking) -> None:
        """A piece that is ready, fetched ones with it, goes before one that was waited for."""
        model = self.model
        if self.code not in mine.job.kit_used:
            model.add(mine.spent == 0)
            model.add(mine.waited == 0)
            return
        model.add(mine.spent + mine.waited == self.found.brings(self.vet, mine.job))
        model.add_implication(mine.waited, ~mine.ready)
        model.add(mine.waited + mine.fetched <= 1)
        model.add(mine.spent <= mine.ready + mine.fetched)

    def _go_as_it_is(self, mine: _Taking, remaining: Expression) -> None:
        """Work signed for or under way uses up a piece if there is one."""
        model, goes = self.model, self.found.goes[self.vet.id, mine.job.id]
        if self.code not in mine.job.kit_used:
            model.add(mine.spent == 0)
            model.add(mine.waited == 0)
            return
        model.add_bool_and(mine.spent).only_enforce_if([mine.ready, goes])
        model.add(mine.spent <= mine.ready)
        model.add(mine.spent <= goes)
        model.add(mine.waited <= remaining)
        model.add(mine.waited + mine.spent <= goes)
        model.add(remaining <= 0).only_enforce_if([goes, ~mine.ready, ~mine.waited])


RULES = (a_shelf_gives_what_it_has, kit_comes_from_the_car_or_is_fetched)
