"""What was given, when produce may be sold again, and what is owed next.

Every answer about a withdrawal carries its reasons. The label, the law and the attending vet
govern; a period that nobody has set is null, never zero.
"""

from django.db.models import QuerySet
from rest_framework import serializers

from cases.models import Commodity, Recheck, RecheckState, Treatment, Withdrawal, WithdrawalState
from rotas.api.door import Door
from rotas.api.shape import Instant


def number(digits: int, places: int, *, allow_null: bool = False) -> serializers.DecimalField:
    """Return a field that shows a decimal as a number."""
    return serializers.DecimalField(digits, places, coerce_to_string=False, allow_null=allow_null)


class WithdrawalShown(serializers.Serializer):
    """One commodity of one treatment. `ends_at` null: not yet known; keep it out of the food chain."""

    id = serializers.IntegerField()
    treatment = serializers.IntegerField(source="treatment_id")
    commodity = serializers.ChoiceField(choices=Commodity.choices)
    state = serializers.ChoiceField(choices=WithdrawalState.choices)
    basis = serializers.ChoiceField(choices=["label", "vet"])
    period_hours = number(8, 2, allow_null=True)
    minimum_hours = number(8, 2, allow_null=True)
    ends_at = Instant(allow_null=True)
    first_saleable_at = Instant(allow_null=True)
    reasons = serializers.ListField(child=serializers.CharField())
    signed_by = serializers.IntegerField(source="signed_by_id", allow_null=True)
    signed_at = Instant(allow_null=True)


class TreatmentShown(serializers.Serializer):
    """What a vet gave to one animal or one group."""

    id = serializers.IntegerField()
    visit = serializers.IntegerField(source="visit_id", allow_null=True)
    vet = serializers.IntegerField(source="vet_id")
    location = serializers.IntegerField(source="location_id")
    medicine = serializers.IntegerField(source="medicine_id")
    medicine_name = serializers.CharField(source="medicine.__str__")
    animal = serializers.IntegerField(source="animal_id", allow_null=True)
    animal_tag = serializers.CharField(source="animal.tag", allow_null=True, default=None)
    group = serializers.IntegerField(source="group_id", allow_null=True)
    species = serializers.CharField()
    route = serializers.CharField()
    dose_amount = number(9, 3)
    dose_unit = serializers.CharField()
    doses = serializers.IntegerField()
    first_given_at = Instant()
    last_given_at = Instant()
    batch = serializers.CharField()
    off_label = serializers.BooleanField()
    off_label_reason = serializers.CharField()
    marks = serializers.CharField()
    corrects = serializers.IntegerField(source="corrects_id", allow_null=True)
    withdrawals = WithdrawalShown(many=True)


class RecheckShown(serializers.Serializer):
    """A planned follow-up. It belongs to the case, not to a person."""

    id = serializers.IntegerField()
    visit = serializers.IntegerField(source="visit_id")
    location = serializers.IntegerField(source="location_id")
    location_name = serializers.CharField(source="location.name")
    state = serializers.ChoiceField(choices=RecheckState.choices)
    who = serializers.CharField()
    action = serializers.CharField()
    importance = serializers.CharField()
    escalate_if = serializers.CharField()
    anchor = serializers.CharField()
    due_at = Instant(allow_null=True)
    booking = serializers.IntegerField(source="booked_id", allow_null=True)
    result = serializers.CharField()
    done_at = Instant(allow_null=True)


def treatments_shown(door: Door) -> QuerySet[Treatment]:
    """Return the practice's treatments with all that is shown of them, in one more query."""
    rows = Treatment.objects.for_practice(door.practice).select_related("medicine", "animal")
    return rows.prefetch_related("withdrawals")


def withdrawals_shown(door: Door) -> QuerySet[Withdrawal]:
    """Return the practice's withdrawals."""
    return Withdrawal.objects.for_practice(door.practice)


def rechecks_shown(door: Door) -> QuerySet[Recheck]:
    """Return the practice's rechecks."""
    return Recheck.objects.for_practice(door.practice).select_related("location")
