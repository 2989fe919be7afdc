"""What was given, when produce may be sold again, and what is owed next."""

from datetime import datetime
from typing import Self

from django.core.serializers.json import DjangoJSONEncoder
from django.db import models
from django.db.models import F, Q

from cases.models.client import Animal, Client, Group, Location
from cases.models.visit import BookedVisit, Visit
from rotas.models import Member, OutboxMessage, PracticeRow, PracticeRowQuerySet, Vet
from rotas.models.tracking import tracked


@tracked
class Medicine(PracticeRow):
    """A medicine by its active substance. The label governs; this is our copy of it."""

    substance = models.CharField(max_length=120)
    strength = models.CharField(max_length=60, blank=True)
    form = models.CharField(max_length=60, blank=True)
    active = models.BooleanField(default=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["practice", "substance", "strength", "form"], name="medicine_once_per_practice"
            )
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


@tracked
class LabelPeriod(PracticeRow):
    """The label's withdrawal for a species, route and commodity. Blank is never zero."""

    medicine = models.ForeignKey(Medicine, on_delete=models.CASCADE, related_name="periods")
    species = models.CharField(max_length=20)
    route = models.CharField(max_length=40)
    commodity = models.CharField(max_length=4, choices=Commodity)
    value = models.DecimalField(max_digits=7, decimal_places=2, null=True, blank=True)
    unit = models.CharField(max_length=8, choices=PeriodUnit, default=PeriodUnit.HOURS)
    not_for_use = models.BooleanField(default=False)
    source = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["medicine", "species", "route", "commodity"], name="label_period_once"
            ),
            models.CheckConstraint(
                condition=Q(value__isnull=True) | Q(value__gte=0), name="label_period_not_negative"
            ),
            models.CheckConstraint(
                condition=Q(not_for_use=False) | Q(value__isnull=True), name="label_not_for_use_has_no_period"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.medicine} {self.commodity}"


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
                condition=Q(off_label=False) | ~Q(off_label_reason=""),
                name="treatment_off_label_has_a_reason",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.medicine} for {self.animal or self.group}"


class WithdrawalState(models.TextChoices):
    """Where a withdrawal stands."""

    RUNNING = "running", "running"
    NEEDS_VET = "needs_vet", "waits for the vet's period"
    NOT_FOR_USE = "not_for_use", "not for this use"
    ENDED = "ended", "ended"
    REPLACED = "replaced", "replaced by a correction"


@tracked
class Withdrawal(PracticeRow):
    """When one commodity may be sold again after one treatment. No end means: not yet known."""

    treatment = models.ForeignKey(Treatment, on_delete=models.PROTECT, related_name="withdrawals")
    commodity = models.CharField(max_length=4, choices=Commodity)
    state = models.CharField(max_length=12, choices=WithdrawalState)
    basis = models.CharField(max_length=8, choices=[("label", "label"), ("vet", "set by the vet")])
    period_hours = models.DecimalField(max_digits=8, decimal_places=2, null=True, blank=True)
    minimum_hours = models.DecimalField(
        max_digits=8, decimal_places=2, null=True, blank=True, help_text="Lawful minimum outside the label."
    )
    ends_at = models.DateTimeField(null=True, blank=True)
    first_saleable_at = models.DateTimeField(
        null=True, blank=True, help_text="Start of the first milking, or of the first full day for meat."
    )
    reasons = models.JSONField(default=list, encoder=DjangoJSONEncoder)
    signed_by = models.ForeignKey(Vet, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    signed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["treatment", "commodity"], name="withdrawal_once_per_commodity"),
            models.CheckConstraint(
                condition=~Q(state__in=("running", "ended")) | Q(ends_at__isnull=False),
                name="withdrawal_running_has_an_end",
            ),
            models.CheckConstraint(
                condition=~Q(state="needs_vet") | Q(ends_at__isnull=True), name="withdrawal_blank_is_blank"
            ),
            models.CheckConstraint(
                condition=Q(first_saleable_at__isnull=True) | Q(first_saleable_at__gte=F("ends_at")),
                name="withdrawal_saleable_after_end",
            ),
        ]
        indexes = [models.Index(fields=["practice", "state", "ends_at"])]

    def __str__(self) -> str:
        return f"{self.commodity}: {self.get_state_display()}"


class RecheckState(models.TextChoices):
    """Where a recheck stands; it closes when a result is written."""

    WAITING_FOR_ANCHOR = "waiting_for_anchor", "waits for something to happen first"
    DUE = "due", "due"
    DONE = "done", "done"
    CANCELLED = "cancelled", "cancelled"


@tracked
class Recheck(PracticeRow):
    """A planned follow-up of a visit. It belongs to the case, not to a person."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="rechecks")
    location = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="rechecks")
    template = models.CharField(max_length=40)
    step = models.PositiveSmallIntegerField()
    who = models.CharField(max_length=30)
    action = models.TextField()
    importance = models.CharField(max_length=10)
    escalate_if = models.TextField(blank=True)
    anchor = models.CharField(max_length=40)
    due_at = models.DateTimeField(null=True, blank=True)
    booked = models.ForeignKey(
        BookedVisit, on_delete=models.PROTECT, null=True, blank=True, related_name="rechecks"
    )
    state = models.CharField(max_length=20, choices=RecheckState, default=RecheckState.DUE)
    result = models.TextField(blank=True)
    done_at = models.DateTimeField(null=True, blank=True)
    done_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["visit", "template", "step"], name="recheck_once_per_step"),
            models.CheckConstraint(
                condition=~Q(state="done") | (~Q(result="") & Q(done_at__isnull=False)),
                name="recheck_done_has_a_result",
            ),
            models.CheckConstraint(
                condition=Q(state="waiting_for_anchor") | Q(state="cancelled") | Q(due_at__isnull=False),
                name="recheck_due_has_a_time",
            ),
        ]
        indexes = [models.Index(fields=["practice", "state", "due_at"])]

    def __str__(self) -> str:
        return f"{self.template} step {self.step}"


class ReminderState(models.TextChoices):
    """Where a reminder stands."""

    WAITING = "waiting", "waiting"
    QUEUED = "queued", "in the outbox"
    CANCELLED = "cancelled", "cancelled"


class ReminderQuerySet(PracticeRowQuerySet):
    """Reminders by time."""

    def due(self, now: datetime) -> Self:
        """Keep what may be put in the outbox now, oldest first."""
        return self.filter(state=ReminderState.WAITING, send_at__lte=now).order_by("send_at", "pk")


@tracked
class Reminder(PracticeRow):
    """A message that is owed about a recheck or a withdrawal. `send_at` lies outside the quiet hours."""

    client = models.ForeignKey(Client, on_delete=models.PROTECT, null=True, related_name="reminders")
    location = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="reminders")
    kind = models.CharField(
        max_length=20,
        choices=[
            ("given", "what was given"),
            ("milk_ends", "first saleable milking"),
            ("meat_ends", "meat may be sold"),
            ("eggs_ends", "eggs may be sold"),
            ("changed", "changed date"),
            ("recheck", "recheck"),
        ],
    )
    recheck = models.ForeignKey(
        Recheck, on_delete=models.PROTECT, null=True, blank=True, related_name="reminders"
    )
    treatment = models.ForeignKey(
        Treatment, on_delete=models.PROTECT, null=True, blank=True, related_name="reminders"
    )
    withdrawal = models.ForeignKey(
        Withdrawal, on_delete=models.PROTECT, null=True, blank=True, related_name="reminders"
    )
    about_at = models.DateTimeField(help_text="The moment that the reminder is about.")
    send_at = models.DateTimeField()
    state = models.CharField(max_length=10, choices=ReminderState, default=ReminderState.WAITING)
    message = models.ForeignKey(
        OutboxMessage, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    objects = ReminderQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["recheck"],
                condition=Q(recheck__isnull=False) & ~Q(state="cancelled"),
                name="reminder_once_per_recheck",
            ),
            models.UniqueConstraint(
                fields=["withdrawal", "kind", "about_at"],
                condition=Q(withdrawal__isnull=False) & ~Q(state="cancelled"),
                name="reminder_once_per_withdrawal",
            ),
            models.UniqueConstraint(
                fields=["treatment", "kind"],
                condition=Q(treatment__isnull=False) & ~Q(state="cancelled"),
                name="reminder_once_per_treatment",
            ),
            models.CheckConstraint(
                condition=Q(recheck__isnull=False) | Q(withdrawal__isnull=False) | Q(treatment__isnull=False),
                name="reminder_is_about_something",
            ),
            models.CheckConstraint(
                condition=~Q(state="queued") | Q(message__isnull=False), name="reminder_queued_has_a_message"
            ),
        ]
        indexes = [models.Index(fields=["state", "send_at"])]

    def __str__(self) -> str:
        return self.get_kind_display()
