"""The record of an operation or other procedure, from what was found to how it went."""

from django.contrib.postgres.fields import ArrayField
from django.core.serializers.json import DjangoJSONEncoder
from django.db import models
from django.db.models import F, Q

from cases.models.client import Animal, Location
from cases.models.visit import Visit
from rotas.models import Kit, KitState, Member, PracticeRow, Vet
from rotas.models.tracking import tracked


class ConsentHow(models.TextChoices):
    """How consent was given."""

    SPOKEN = "spoken", "spoken, face to face"
    TELEPHONE = "telephone", "by telephone"
    SIGNED = "signed", "signed"


class IfWorse(models.TextChoices):
    """What was agreed for the case that it is worse inside than was thought."""

    STOP = "stop", "stop and ask"
    CARRY_ON = "carry_on", "carry on within the ceiling"
    EUTHANISE = "euthanise", "put her down"


class ProcedureState(models.TextChoices):
    """How far the record has come."""

    TALK = "talk", "findings and options"
    AGREED = "agreed", "agreed"
    DONE = "done", "done"
    NOT_DONE = "not_done", "not done"


@tracked
class ProcedureRecord(PracticeRow):
    """One animal's procedure at one visit. Every change keeps the row that was there before."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="procedures")
    location = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="procedures")
    animal = models.ForeignKey(Animal, on_delete=models.PROTECT, related_name="procedures")
    kind = models.CharField(max_length=40, help_text="A row of the table of procedures.")
    state = models.CharField(max_length=8, choices=ProcedureState, default=ProcedureState.TALK)
    findings = models.JSONField(default=dict, encoder=DjangoJSONEncoder)
    problems = models.TextField(blank=True, help_text="The list of problems, the main one first.")
    options = ArrayField(models.CharField(max_length=40), default=list, blank=True)
    options_note = models.TextField(blank=True)
    consent_by = models.CharField(max_length=120, blank=True)
    consent_how = models.CharField(max_length=10, choices=ConsentHow, blank=True)
    consent_at = models.DateTimeField(null=True, blank=True)
    consent_ceiling = models.DecimalField(
        max_digits=9, decimal_places=2, null=True, blank=True, help_text="In the practice's own money."
    )
    if_worse = models.CharField(max_length=10, choices=IfWorse, blank=True)
    method = models.CharField(max_length=40, blank=True)
    method_words = models.CharField(max_length=200, blank=True)
    against_method = models.TextField(blank=True, help_text="Why, although the table advises against it.")
    without_consent = models.TextField(blank=True, help_text="Why it was begun before consent was on record.")
    started_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    surgeon = models.ForeignKey(
        Vet, on_delete=models.PROTECT, null=True, blank=True, related_name="procedures"
    )
    second_surgeon = models.ForeignKey(Vet, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    assistants = models.CharField(max_length=200, blank=True)
    notes = models.TextField(blank=True)
    not_done_why = models.TextField(blank=True)
    aftercare_words = models.TextField(blank=True)
    aftercare_told_at = models.DateTimeField(null=True, blank=True)
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["visit", "animal", "kind"], name="procedure_once_per_visit"),
            models.CheckConstraint(
                condition=Q(consent_at__isnull=True) | (~Q(consent_by="") & ~Q(consent_how="")),
                name="procedure_consent_by_somebody",
            ),
            models.CheckConstraint(
                condition=Q(started_at__isnull=True, ended_at__isnull=True) | Q(ended_at__gt=F("started_at")),
                name="procedure_ends_after_start",
            ),
            models.CheckConstraint(
                condition=~Q(state="done")
                | (Q(ended_at__isnull=False, surgeon__isnull=False) & ~Q(method_words="")),
                name="procedure_done_has_times",
            ),
            models.CheckConstraint(
                condition=~Q(state="done") | Q(consent_at__isnull=False) | ~Q(without_consent=""),
                name="procedure_done_with_consent",
            ),
            models.CheckConstraint(
                condition=~Q(state="not_done") | ~Q(not_done_why=""), name="procedure_not_done_says_why"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} of {self.animal}"


@tracked
class ProcedureKit(PracticeRow):
    """A piece of kit that the procedure used, and what was to happen to it next."""

    record = models.ForeignKey(ProcedureRecord, on_delete=models.PROTECT, related_name="kit_used")
    kit = models.ForeignKey(Kit, on_delete=models.PROTECT, related_name="+")
    next_state = models.CharField(max_length=12, choices=KitState)
    ready_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["record", "kit"], name="procedure_kit_once"),
            models.CheckConstraint(
                condition=~Q(next_state="sterilising") | Q(ready_at__isnull=False),
                name="procedure_kit_sterilising_until",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kit} then {self.get_next_state_display()}"


@tracked
class ProcedureOutcome(PracticeRow):
    """How it went on one of the days on which that is asked. Without an answer it is still owed."""

    record = models.ForeignKey(ProcedureRecord, on_delete=models.PROTECT, related_name="outcomes")
    day = models.PositiveSmallIntegerField(help_text="Calendar days after the procedure.")
    asked_at = models.DateTimeField()
    outcome = models.CharField(max_length=8, blank=True)
    words = models.TextField(blank=True)
    answered_at = models.DateTimeField(null=True, blank=True)
    answered_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["record", "day"], name="procedure_outcome_once_a_day"),
            models.CheckConstraint(
                condition=Q(outcome="", answered_at__isnull=True)
                | (~Q(outcome="") & Q(answered_at__isnull=False)),
                name="procedure_outcome_answered_at",
            ),
        ]
        indexes = [models.Index(fields=["practice", "outcome", "asked_at"])]

    def __str__(self) -> str:
        return f"day {self.day} of {self.record}"
