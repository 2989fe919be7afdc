"""The plan in force: the ranking, who goes where, and what no vet goes to."""

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from dispatch.access import plan_in_force
from dispatch.inputs.names import is_call, key_of
from dispatch.planner.plan import Change, HomeShift, Outcome, Ranked, Route, Status, Stop, Unassigned
from dispatch.services.desk import readable
from dispatch.services.kept_plan import KeptPlan
from rotas.api.door import Door
from rotas.api.shape import Instant


class JobShown(serializers.Serializer):
    """What a line of the plan is about: one call or one booking."""

    call = serializers.IntegerField(allow_null=True)
    booking = serializers.IntegerField(allow_null=True)
    name = serializers.CharField()


class HomeShiftShown(serializers.Serializer):
    """How the end of one vet's work would move. `later_min` is null where only one plan sends the vet."""

    vet = serializers.IntegerField()
    home_at = Instant(allow_null=True)
    later_min = serializers.IntegerField(allow_null=True)
    rest_left_min = serializers.IntegerField(allow_null=True)


class ChangeShown(serializers.Serializer):
    """What picking this vet instead would change in the whole plan; negative is less or sooner.

    `late_min` is minutes past arrive-by over all jobs, `call_late_min` those of this call. Where
    it is not `exact`, a better plan with this vet may exist.
    """

    sentence = serializers.CharField()
    points = serializers.IntegerField()
    late_min = serializers.IntegerField()
    call_late_min = serializers.IntegerField()
    call_later_min = serializers.IntegerField(allow_null=True)
    drive_min = serializers.IntegerField()
    instead_of = serializers.ListField(child=serializers.IntegerField())
    homes = HomeShiftShown(many=True)
    exact = serializers.BooleanField()


class RankedShown(JobShown):
    """One open call in the queue. `wait_cost` is points for `wait_min` more minutes of waiting.

    Where it is not `exact`, the rest of the plan was not solved again around the delay.
    """

    position = serializers.IntegerField()
    wait_min = serializers.IntegerField()
    wait_cost = serializers.IntegerField()
    exact = serializers.BooleanField()
    slack_min = serializers.IntegerField(allow_null=True)
    sentence = serializers.CharField()


class StopShown(JobShown):
    """One job in a vet's route."""

    leave_at = Instant()
    arrive_at = Instant()
    start_at = Instant()
    finish_at = Instant()
    drive_min = serializers.IntegerField()
    late_min = serializers.IntegerField()


class RouteShown(serializers.Serializer):
    """A vet's work in order."""

    vet = serializers.IntegerField()
    vet_name = serializers.CharField()
    home_at = Instant(allow_null=True)
    drive_min = serializers.IntegerField()
    warnings = serializers.ListField(child=serializers.CharField())
    stops = StopShown(many=True)


class UnassignedShown(JobShown):
    """A job that no vet goes to, and what could be done."""

    outcome = serializers.ChoiceField(choices=[outcome.value for outcome in Outcome])
    sentence = serializers.CharField()
    reasons = serializers.ListField(child=serializers.CharField())
    suggestions = serializers.ListField(child=serializers.CharField())


class VetSaid(serializers.Serializer):
    """Where the plan sends a vet and why, or why not."""

    vet = serializers.IntegerField()
    vet_name = serializers.CharField()
    sentence = serializers.CharField()


class PlanShown(serializers.Serializer):
    """The plan. Everything is empty, and `made_at` null, before the first one."""

    id = serializers.IntegerField(allow_null=True)
    made_at = Instant(allow_null=True)
    because = serializers.CharField()
    status = serializers.ChoiceField(choices=[status.value for status in Status], allow_null=True)
    sentence = serializers.CharField()
    travel_label = serializers.CharField()
    ranking = RankedShown(many=True)
    routes = RouteShown(many=True)
    unassigned = UnassignedShown(many=True)
    vets = VetSaid(many=True)


NO_PLAN: dict[str, Any] = {
    "id": None,
    "made_at": None,
    "because": "",
    "status": None,
    "sentence": "There is no plan yet.",
    "travel_label": "",
    "ranking": (),
    "routes": (),
    "unassigned": (),
    "vets": (),
}


class PlanNow(Door):
    """The plan in force."""

    @extend_schema(operation_id="plan", responses=PlanShown, summary="The plan in force")
    def get(self, request: Request) -> Response:
        """Show who goes where in which order, and what is left and why. It advises; a person decides."""
        kept = readable(plan_in_force(self.practice))
        return self.show(NO_PLAN if kept is None else Told(kept).plan(), PlanShown)


class Told:
    """A kept plan with instants for its minutes and rows for its names."""

    def __init__(self, kept: KeptPlan) -> None:
        self.kept = kept
        self.labels = {job.id: job.label for job in kept.problem.jobs}
        self.vets = {vet.id: vet.name for vet in kept.problem.vets}

    def plan(self) -> dict[str, Any]:
        """Return the whole plan."""
        row, answer = self.kept.row, self.kept.answer
        return {
            "id": row.pk,
            "made_at": row.made_at,
            "because": row.because,
            "status": row.status,
            "sentence": row.sentence,
            "travel_label": row.travel_label,
            "ranking": [self._ranked(ranked) for ranked in answer.ranking],
            "routes": [self._route(route) for route in answer.routes],
            "unassigned": [self._unassigned(left) for left in answer.unassigned],
            "vets": [
                {"vet": key_of(vet), "vet_name": self.vets.get(vet, vet), "sentence": sentence}
                for vet, sentence in answer.vet_sentences.items()
            ],
        }

    def _job(self, job: str) -> dict[str, Any]:
        key = key_of(job)
        call, booking = (key, None) if is_call(job) else (None, key)
        return {"call": call, "booking": booking, "name": self.labels.get(job, job)}

    def _ranked(self, ranked: Ranked) -> dict[str, Any]:
        return vars(ranked) | self._job(ranked.job)

    def _route(self, route: Route) -> dict[str, Any]:
        return {
            "vet": key_of(route.vet),
            "vet_name": self.vets.get(route.vet, route.vet),
            "home_at": None if route.home_at is None else self.kept.at(route.home_at),
            "drive_min": route.drive_min,
            "warnings": route.warnings,
            "stops": [self._stop(stop) for stop in route.stops],
        }

    def _stop(self, stop: Stop) -> dict[str, Any]:
        at = self.kept.at
        return self._job(stop.job) | {
            "leave_at": at(stop.leave),
            "arrive_at": at(stop.arrive),
            "start_at": at(stop.start),
            "finish_at": at(stop.finish),
            "drive_min": stop.drive_min,
            "late_min": stop.late_min,
        }

    def _unassigned(self, left: Unassigned) -> dict[str, Any]:
        return vars(left) | self._job(left.job)

    def verdicts(self, job: str) -> list[dict[str, Any]]:
        """Return what the plan says of each vet for a job: could they go, when, and if not, why."""
        return [
            {
                "vet": key_of(verdict.vet),
                "vet_name": self.vets.get(verdict.vet, verdict.vet),
                "can_go": verdict.can_go,
                "in_plan": verdict.in_plan,
                "sentence": verdict.sentence,
                "arrive_at": None if verdict.arrive is None else self.kept.at(verdict.arrive),
                "late_min": verdict.late_min,
                "change": self._change(verdict.change),
            }
            for verdict in self.kept.verdicts_of(job)
        ]

    def _change(self, change: Change | None) -> dict[str, Any] | None:
        if change is None:
            return None
        return vars(change) | {
            "instead_of": [key_of(vet) for vet in change.instead_of],
            "homes": [self._home_shift(shift) for shift in change.homes],
        }

    def _home_shift(self, shift: HomeShift) -> dict[str, Any]:
        home_at = None if shift.home_at is None else self.kept.at(shift.home_at)
        return vars(shift) | {"vet": key_of(shift.vet), "home_at": home_at}
