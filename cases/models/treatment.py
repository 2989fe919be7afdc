"""What was given."""

from django.core.serializers.json import DjangoJSONEncoder
from django.db import models
from django.db.models import F, Q

from cases.models.client import Animal, Group, Location
from cases.models.medicine import Batch, Medicine
from cases.models.visit import Visit
from rotas.models import Member, PracticeRow, Vet
from rotas.models.tracking import tracked


class WeightKnownBy(models.TextChoices):
    """How the weight is known."""

    UNSAID = "", "not recorded yet"
    SCALES = "scales", "scales"
    BAND = "band", "weigh band"
    GUESS = "guess", "guess"


@tracked
class Treatment(PracticeRow):
    """What a vet gave to one animal or one group. Corrections are added, never overwritten."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, null=True, related_name="treatments")
    location = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="treatments")
    vet = models.ForeignKey(Vet, on_delete=models.PROTECT, related_name="treatments")
    medicine = models.ForeignKey(Medicine, on_delete=models.PROTECT, related_name="treatments")
    animal = models.ForeignKey(
        Animal, on_delete=models.PROTECT, null=True, blank=True, related_name="treatments"
    )
    group = models.ForeignKey(
        Group, on_delete=models.PROTECT, null=True, blank=True, related_name="treatments"
    )
    species = models.CharField(max_length=20)
    route = models.CharField(max_length=40)
    dose_amount = models.DecimalField(max_digits=9, decimal_places=3)
    dose_unit = models.CharField(max_length=12)
    doses = models.PositiveSmallIntegerField(default=1)
    first_given_at = models.DateTimeField()
    last_given_at = models.DateTimeField()
    batch = models.CharField(max_length=60, blank=True)
    batch_ref = models.ForeignKey(
        Batch, on_delete=models.PROTECT, null=True, blank=True, related_name="treatments"
    )
    given_by = models.CharField(max_length=120, blank=True, help_text="Who gave it, if not the vet.")
    animal_class = models.CharField(max_length=40, blank=True, help_text="Such as lactating, dry, calf.")
    weight_kg = models.DecimalField(
        max_digits=7, decimal_places=2, null=True, blank=True, help_text="Of one animal."
    )
    weight_known_by = models.CharField(max_length=6, choices=WeightKnownBy, blank=True)
    water_c = models.DecimalField(
        max_digits=4, decimal_places=1, null=True, blank=True, help_text="Mean water temperature, for fish."
    )
    diagnosis = models.TextField(blank=True)
    examined_on = models.DateField(null=True, blank=True)
    warnings = models.JSONField(
        default=list, blank=True, encoder=DjangoJSONEncoder, help_text="What was shown before saving."
    )
    override_reason = models.TextField(blank=True, help_text="Why it was given although a warning said stop.")
    off_label = models.BooleanField(default=False)
    off_label_reason = models.TextField(blank=True)
    marks = models.CharField(max_length=120, blank=True, help_text="Leg band, tail tape, spray.")
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    corrects = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="corrected_by"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(animal__isnull=False, group__isnull=True)
                | Q(animal__isnull=True, group__isnull=False),
                name="treatment_of_an_animal_or_a_group",
            ),
            models.CheckConstraint(condition=Q(dose_amount__gt=0), name="treatment_dose_is_something"),
            models.CheckConstraint(condition=Q(doses__gt=0), name="treatment_at_least_one_dose"),
            models.CheckConstraint(
                condition=Q(last_given_at__gte=F("first_given_at")), name="treatment_last_after_first"
            ),
            models.CheckConstraint(
                condition=Q(weight_kg__isnull=True) | Q(weight_kg__gt=0), name="treatment_weight_is_something"
            ),
            models.CheckConstraint(
                condition=Q(weight_known_by="") | Q(weight_kg__isnull=False),
                name="treatment_known_weight_has_a_weight",
            ),
            models.CheckConstraint(
                condition=Q(off_label=False) | ~Q(off_label_reason=""),
                name="treatment_off_label_has_a_reason",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.medicine} for {self.animal or self.group}"
