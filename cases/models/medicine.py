"""Medicines by their active substance, what their labels say, and the bottles in the cars."""

from datetime import date
from typing import Self

from django.db import models
from django.db.models import F, Q

from cases.medicines.vocabulary import NEED_CONFIRMING
from rotas.models import Jurisdiction, Member, Practice, PracticeRow, PracticeRowQuerySet
from rotas.models.tracking import tracked


class MedicineKind(models.TextChoices):
    """What class of medicine it is; the warnings go by it."""

    ANAESTHETIC_LOCAL = "anaesthetic_local", "local anaesthetic"
    SEDATIVE = "sedative", "sedative"
    ANTIBIOTIC = "antibiotic", "antibiotic"
    ANTI_INFLAMMATORY = "anti_inflammatory", "anti-inflammatory"
    HORMONE = "hormone", "hormone"
    OTHER = "other", "other"


@tracked
class Medicine(PracticeRow):
    """A medicine by its active substance. The label governs; this is our copy of it."""

    substance = models.CharField(max_length=120)
    strength = models.CharField(max_length=60, blank=True)
    form = models.CharField(max_length=60, blank=True)
    kind = models.CharField(max_length=20, choices=MedicineKind, default=MedicineKind.OTHER)
    mg_per_ml = models.DecimalField(
        max_digits=9,
        decimal_places=3,
        null=True,
        blank=True,
        help_text="Active substance in 1 ml; 2 % is 20.",
    )
    active = models.BooleanField(default=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["practice", "substance", "strength", "form"], name="medicine_once_per_practice"
            ),
            models.CheckConstraint(
                condition=Q(mg_per_ml__isnull=True) | Q(mg_per_ml__gt=0),
                name="medicine_strength_is_something",
            ),
        ]

    def __str__(self) -> str:
        return " ".join(part for part in (self.substance, self.strength, self.form) if part)


class Commodity(models.TextChoices):
    """What is sold."""

    MILK = "milk", "milk"
    MEAT = "meat", "meat and offal"
    EGGS = "eggs", "eggs"


class PeriodUnit(models.TextChoices):
    """The unit that the label uses."""

    HOURS = "hours", "hours"
    DAYS = "days", "days"
    MILKINGS = "milkings", "milkings"
    DEGREE_DAYS = "degree_days", "degree-days"


class Mark(models.TextChoices):
    """How well a label entry is known."""

    LABEL = "", "read from the label"
    VERIFIED = "verified in stored public text", "verified in stored public text"
    SECONDARY = "verified in secondary text only", "verified in secondary text only"
    MEMORY = "from memory, not verified", "from memory, not verified"
    NOT_FOUND = "not found", "no figure was found"


ONE_USE = ("medicine", "species", "route", "commodity", "animal_class", "max_doses", "jurisdiction")
"""What one entry is about; of each use one entry holds at a time."""


class LabelPeriodQuerySet(PracticeRowQuerySet):
    """Label entries by when and where they hold."""

    def valid_on(self, day: date) -> Self:
        """Keep the entries in force on that local day; [valid_from, valid_until)."""
        begun = Q(valid_from__isnull=True) | Q(valid_from__lte=day)
        return self.filter(begun, Q(valid_until__isnull=True) | Q(valid_until__gt=day))

    def of(self, jurisdiction: str) -> Self:
        """Keep the entries of that jurisdiction, and those that name none."""
        return self.filter(jurisdiction__in=("", jurisdiction))

    def governing(self, practice: Practice, day: date) -> Self:
        """Keep what a treatment of that practice uses whose last dose falls on that local day."""
        return self.of(practice.jurisdiction).valid_on(day)


@tracked
class LabelPeriod(PracticeRow):
    """The label's withdrawal for a species, route, class and commodity. Blank is never zero.

    An entry is never rewritten: it is ended, and a new one begins. [valid_from, valid_until) are
    local days; a treatment uses the entries of the day of its last dose.
    """

    medicine = models.ForeignKey(Medicine, on_delete=models.CASCADE, related_name="periods")
    species = models.CharField(max_length=20)
    route = models.CharField(max_length=40)
    animal_class = models.CharField(
        max_length=40, blank=True, help_text="Blank: every class. Such as lactating, dry, heifer, calf, veal."
    )
    commodity = models.CharField(max_length=4, choices=Commodity)
    value = models.DecimalField(max_digits=7, decimal_places=2, null=True, blank=True)
    unit = models.CharField(max_length=12, choices=PeriodUnit, default=PeriodUnit.HOURS)
    not_for_use = models.BooleanField(default=False)
    from_calving = models.BooleanField(default=False, help_text="Counted from calving, as for dry-cow tubes.")
    min_dry_days = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="The least days from treatment to calving."
    )
    max_doses = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="The longest course that this period holds for."
    )
    max_dose = models.DecimalField(
        max_digits=9, decimal_places=3, null=True, blank=True, help_text="The label's largest single dose."
    )
    max_dose_unit = models.CharField(max_length=12, blank=True, help_text="Such as mg/kg, IU/kg, ml/kg, ml.")
    jurisdiction = models.CharField(
        max_length=2, choices=Jurisdiction, blank=True, help_text="Blank: the practice's own."
    )
    valid_from = models.DateField(null=True, blank=True)
    valid_until = models.DateField(null=True, blank=True, help_text="The first day it no longer holds.")
    source = models.CharField(max_length=200, blank=True)
    mark = models.CharField(max_length=40, choices=Mark, blank=True)
    note = models.CharField(max_length=200, blank=True)
    confirmed_by = models.ForeignKey(
        Member, on_delete=models.PROTECT, null=True, blank=True, related_name="+", help_text="A vet."
    )
    confirmed_on = models.DateField(null=True, blank=True)

    objects = LabelPeriodQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=[*ONE_USE, "valid_from"],
                condition=Q(valid_until__isnull=True)
                | Q(valid_from__isnull=True)
                | Q(valid_until__gt=F("valid_from")),
                nulls_distinct=False,
                name="label_period_once",
            ),
            models.UniqueConstraint(
                fields=[*ONE_USE],
                condition=Q(valid_until__isnull=True),
                nulls_distinct=False,
                name="label_period_one_in_force",
            ),
            models.CheckConstraint(
                condition=Q(value__isnull=True) | Q(value__gte=0), name="label_period_not_negative"
            ),
            models.CheckConstraint(
                condition=Q(not_for_use=False) | Q(value__isnull=True), name="label_not_for_use_has_no_period"
            ),
            models.CheckConstraint(
                condition=Q(valid_from__isnull=True)
                | Q(valid_until__isnull=True)
                | Q(valid_until__gte=F("valid_from")),
                name="label_period_ends_after_start",
            ),
            models.CheckConstraint(
                condition=Q(from_calving=False) | Q(commodity="milk"),
                name="label_period_from_calving_is_milk",
            ),
            models.CheckConstraint(
                condition=Q(max_dose__isnull=True, max_dose_unit="")
                | (Q(max_dose__gt=0) & ~Q(max_dose_unit="")),
                name="label_period_max_dose_has_a_unit",
            ),
            models.CheckConstraint(
                condition=Q(confirmed_by__isnull=True, confirmed_on__isnull=True)
                | Q(confirmed_by__isnull=False, confirmed_on__isnull=False),
                name="label_period_confirmed_by_somebody",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.medicine} {self.commodity}"

    @property
    def needs_confirming(self) -> bool:
        """Nobody has read this figure on the label yet: it sets no milk or meat date by itself."""
        return self.mark in NEED_CONFIRMING and self.confirmed_on is None

    @property
    def is_silent(self) -> bool:
        """The label gives no period here: unknown, never zero."""
        return self.value is None and not self.not_for_use


@tracked
class Batch(PracticeRow):
    """One batch of a medicine. Usable up to and including the day of its expiry."""

    medicine = models.ForeignKey(Medicine, on_delete=models.PROTECT, related_name="batches")
    number = models.CharField(max_length=60)
    expires_on = models.DateField(help_text="The last day on which it may be used.")
    received_on = models.DateField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True, help_text="Used up, returned or thrown away.")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["medicine", "number"], name="batch_once_per_medicine"),
            models.CheckConstraint(condition=~Q(number=""), name="batch_has_a_number"),
        ]
        indexes = [models.Index(fields=["practice", "expires_on"])]

    def __str__(self) -> str:
        return f"{self.number}, expires {self.expires_on}"

    def has_expired(self, day: date) -> bool:
        """Say whether it may no longer be used on that local day."""
        return day > self.expires_on
