"""The least published objective of a small home-care day, by a plain CP-SAT model of its own.

Shares the shapes with the planner and nothing else. Numbers count thousandths, the published unit.
"""

from collections.abc import Iterator

from ortools.sat.python import cp_model

from dispatch.planner.home_care.instance import Caregiver, Instance, Patient

UNIT = 1000
OFFICE = 0


class _Day:
    """One start per service; per caregiver a circuit through the office and the services they do."""

    def __init__(self, instance: Instance) -> None:
        self.instance = instance
        self.model = cp_model.CpModel()
        self.parts = [(patient, each) for patient in instance.patients for each in patient.services]
        self.place = [OFFICE, *(instance.place_of[patient.id] for patient, _ in self.parts)]
        longest = _horizon(instance)
        self.starts = [
            self.model.new_int_var(_count(patient.earliest), longest, "") for patient, _ in self.parts
        ]
        self.done_by = [
            {caregiver.id: self.model.new_bool_var("") for caregiver in instance.caregivers}
            for _ in self.parts
        ]
        self.driven: list[cp_model.LinearExpr] = []
        for who in self.done_by:
            self.model.add_exactly_one(who.values())
        for caregiver in instance.caregivers:
            self.model.add_circuit(list(self._circuit(caregiver)))
        for patient in instance.patients:
            self._synchronize(patient)
        self.model.minimize(sum(self.driven) + self._tardiness(longest))

    def _circuit(self, caregiver: Caregiver) -> Iterator[tuple[int, int, cp_model.IntVar]]:
        """Arcs between the office (0) and services (1..); an arc to itself leaves a service to others."""
        nodes = range(len(self.parts) + 1)
        yield OFFICE, OFFICE, self.model.new_bool_var("stays in")
        for node in nodes[1:]:
            mine = self.done_by[node - 1][caregiver.id]
            yield node, node, ~mine
            if self.parts[node - 1][1].name not in caregiver.abilities:
                self.model.add(mine == 0)
        for here in nodes:
            for there in nodes:
                if here != there:
                    yield here, there, self._leg(here, there)

    def _leg(self, here: int, there: int) -> cp_model.IntVar:
        taken = self.model.new_bool_var("")
        road = _count(self.instance.distances[self.place[here]][self.place[there]])
        self.driven.append(road * taken)
        if there != OFFICE:
            leaves = 0 if here == OFFICE else self.starts[here - 1] + _count(self.parts[here - 1][1].duration)
            self.model.add(self.starts[there - 1] >= leaves + road).only_enforce_if(taken)
        return taken

    def _synchronize(self, patient: Patient) -> None:
        if len(patient.services) == 2:
            first, second = (index for index, (who, _) in enumerate(self.parts) if who is patient)
            for mine, other in zip(self.done_by[first].values(), self.done_by[second].values(), strict=True):
                self.model.add_at_most_one(mine, other)
            apart = self.starts[second] - self.starts[first]
            self.model.add_linear_constraint(apart, *(_count(limit) for limit in patient.gap))

    def _tardiness(self, longest: int) -> cp_model.LinearExpr:
        late = [self.model.new_int_var(0, longest, "") for _ in self.parts]
        latest = self.model.new_int_var(0, longest, "")
        for (patient, _), start, minutes in zip(self.parts, self.starts, late, strict=True):
            self.model.add(minutes >= start - _count(patient.latest))
            self.model.add(latest >= minutes)
        return sum(late) + latest


def _count(value: float) -> int:
    return round(value * UNIT)


def _horizon(instance: Instance) -> int:
    """Late enough for any sensible plan: everything done in a row after the last opening."""
    road = max(max(line) for line in instance.distances)
    work = sum(
        sum(road + each.duration for each in patient.services) + patient.gap[1]
        for patient in instance.patients
    )
    return _count(max(patient.earliest for patient in instance.patients) + work)


def least_objective(instance: Instance, seconds: float = 60) -> float:
    """The proven least objective; raises where the proof takes longer than the seconds."""
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_time_in_seconds = seconds
    status = solver.solve(_Day(instance).model)
    if status != cp_model.OPTIMAL:
        raise AssertionError(f"{instance.name}: {solver.status_name(status)} after {seconds:g} s")
    return solver.objective_value / UNIT / 3
