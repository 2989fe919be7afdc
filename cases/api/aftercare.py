"""What was given, when produce may be sold again, and what is owed next.

Every answer about a withdrawal carries its reasons. The label, the law and the attending vet
govern; a period that nobody has set is null, never zero.
"""

from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from cases.models import Commodity, Treatment, Withdrawal, WithdrawalState
from cases.services.completeness import missing_of
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
    not_before = Instant(allow_null=True, help_text="A known earliest end while the end itself is open.")
    waits_for = serializers.CharField(help_text="What is missing: vet, calving, water temperature; or empty.")
    gives_way_at = Instant(
        allow_null=True, help_text="A longer date that a vet signed shorter: it still holds until here."
    )
    shorter_from = Instant(allow_null=True, help_text="A shorter date counts from here on.")
    reasons = serializers.ListField(child=serializers.CharField())
    signed_by = serializers.IntegerField(source="signed_by_id", allow_null=True)
    signed_at = Instant(allow_null=True)


class WarningShown(serializers.Serializer):
    """A warning that was shown before it was written down. `stop` wanted a reason."""

    code = serializers.CharField()
    level = serializers.ChoiceField(choices=["warn", "stop"])
    sentence = serializers.CharField()
    source = serializers.CharField()
    mark = serializers.CharField(help_text="How well the figure in it is known.")
    decides = serializers.CharField()


class MissingShown(serializers.Serializer):
    """What the law wants of the record and is not recorded yet; a correction adds it."""

    field = serializers.CharField()
    sentence = serializers.CharField()


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
    batch_ref = serializers.IntegerField(source="batch_ref_id", allow_null=True)
    animal_class = serializers.CharField()
    weight_kg = number(7, 2, allow_null=True)
    weight_known_by = serializers.CharField()
    water_c = number(4, 1, allow_null=True)
    given_by = serializers.CharField(help_text="Empty: the vet.")
    diagnosis = serializers.CharField()
    examined_on = serializers.DateField(allow_null=True)
    override_reason = serializers.CharField()
    warnings = WarningShown(many=True)
    off_label = serializers.BooleanField()
    off_label_reason = serializers.CharField()
    marks = serializers.CharField()
    corrects = serializers.IntegerField(source="corrects_id", allow_null=True)
    withdrawals = WithdrawalShown(many=True)
    not_recorded = serializers.SerializerMethodField()

    @extend_schema_field(MissingShown(many=True))
    def get_not_recorded(self, treatment: Treatment) -> Any:
        """Return what is still wanted."""
        return MissingShown(missing_of(treatment), many=True).data


def treatments_shown(door: Door) -> QuerySet[Treatment]:
    """Return the practice's treatments with all that is shown of them, in one more query."""
    rows = Treatment.objects.for_practice(door.practice).select_related(
        "medicine", "animal", "group", "location__client"
    )
    return rows.prefetch_related("withdrawals")


def withdrawals_shown(door: Door) -> QuerySet[Withdrawal]:
    """Return the practice's withdrawals."""
    return Withdrawal.objects.for_practice(door.practice)
