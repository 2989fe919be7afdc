"""What is owed to a case after the visit, the calls that were tried and what the farm answered."""

from typing import Self

import pgtrigger
from django.db import models
from django.db.models import Q

from cases.models.client import Animal, Location
from cases.models.visit import BookedVisit, Visit
from rotas.models import Member, PracticeRow, PracticeRowQuerySet, Vet
from rotas.models.tracking import NO_REWRITE, NO_TRUNCATE, tracked


class RecheckState(models.TextChoices):
    """Where a recheck stands; it closes when a result is written."""

    WAITING_FOR_ANCHOR = "waiting_for_anchor", "waits for something to happen first"
    DUE = "due", "due"
    DONE = "done", "done"
    CANCELLED = "cancelled", "cancelled"


OPEN_RECHECKS = (RecheckState.DUE, RecheckState.WAITING_FOR_ANCHOR)


class RecheckQuerySet(PracticeRowQuerySet):
    """Rechecks by where they stand."""

    def open(self) -> Self:
        """Keep what has no result yet and was not ended."""
        return self.filter(state__in=OPEN_RECHECKS)

    def escalated(self) -> Self:
        """Keep the open ones that cannot wait: not fine, or nobody was reached twice."""
        return self.open().filter(escalated_at__isnull=False)


@tracked
class Recheck(PracticeRow):
    """A planned follow-up of a visit. It belongs to the case, not to a person.

    `table_version` names the follow-up table that it came from; a newer table never changes it.
    `caller` is the vet whose telephone list a vet's call stands on; without one it is the desk's.
    """

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="rechecks")
    location = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="rechecks")
    animal = models.ForeignKey(
        Animal, on_delete=models.PROTECT, null=True, blank=True, related_name="rechecks"
    )
    animal_said_by = models.ForeignKey(
        Member,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        help_text="Who said which animal it is; empty where the treatments of the visit say it.",
    )
    table_version = models.CharField(max_length=12)
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
    caller = models.ForeignKey(
        Vet, on_delete=models.PROTECT, null=True, blank=True, related_name="rechecks_to_ring"
    )
    caller_why = models.TextField(blank=True, help_text="Why this vet rings, or why the desk has it.")
    escalated_at = models.DateTimeField(null=True, blank=True)
    escalated_to = models.ForeignKey(
        Vet, on_delete=models.PROTECT, null=True, blank=True, related_name="rechecks_escalated"
    )
    escalated_why = models.TextField(blank=True)
    warned_at = models.DateTimeField(
        null=True, blank=True, help_text="When it was said that the window of its visit is about to close."
    )
    state = models.CharField(max_length=20, choices=RecheckState, default=RecheckState.DUE)
    result = models.TextField(blank=True)
    done_at = models.DateTimeField(null=True, blank=True)
    done_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    objects = RecheckQuerySet.as_manager()

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
            models.CheckConstraint(
                condition=~Q(table_version=""),
                name="recheck_names_its_table",
            ),
            models.CheckConstraint(
                condition=Q(escalated_at__isnull=True) | ~Q(escalated_why=""),
                name="recheck_escalated_says_why",
            ),
        ]
        indexes = [models.Index(fields=["practice", "state", "due_at"])]

    def __str__(self) -> str:
        return f"{self.template} step {self.step}"

    @property
    def is_open(self) -> bool:
        """Whether a result is still owed."""
        return self.state in OPEN_RECHECKS


class AttemptHow(models.TextChoices):
    """How somebody was tried."""

    TELEPHONE = "telephone", "telephone"
    TEXT = "text", "text message"
    IN_PERSON = "in_person", "at the farm"


class AttemptOutcome(models.TextChoices):
    """What came of a try. Whoever was reached gives a result instead."""

    NO_ANSWER = "no_answer", "no answer"
    MESSAGE_LEFT = "message_left", "message left"
    LINE_BUSY = "line_busy", "line busy"


class RecheckAttempt(PracticeRow):
    """One try that reached nobody. It closes nothing, and is never changed."""

    recheck = models.ForeignKey(Recheck, on_delete=models.PROTECT, related_name="attempts")
    at = models.DateTimeField()
    by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    how = models.CharField(max_length=10, choices=AttemptHow, default=AttemptHow.TELEPHONE)
    outcome = models.CharField(max_length=14, choices=AttemptOutcome)
    note = models.TextField(blank=True)

    class Meta:
        triggers: list[pgtrigger.Trigger] = [NO_REWRITE, NO_TRUNCATE]
        indexes = [models.Index(fields=["recheck", "at"])]

    def __str__(self) -> str:
        return f"{self.get_outcome_display()} ({self.get_how_display()})"


class AnswerHow(models.TextChoices):
    """How the farm answered."""

    TEXT = "text", "text message"
    LINK = "link", "the page that the message links to"
    TELEPHONE = "telephone", "telephone"


class RecheckAnswer(PracticeRow):
    """What the farm said: fine or not fine, and any words. Never changed; `late` came after the end."""

    recheck = models.ForeignKey(Recheck, on_delete=models.PROTECT, related_name="answers")
    at = models.DateTimeField()
    fine = models.BooleanField()
    words = models.TextField(blank=True)
    how = models.CharField(max_length=10, choices=AnswerHow)
    said_by = models.CharField(max_length=120, blank=True)
    heard_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    late = models.BooleanField(default=False)
    key = models.CharField(max_length=80, blank=True, help_text="The sender's own: sent again, it is one.")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["recheck", "key"], condition=~Q(key=""), name="recheck_answer_once"
            )
        ]
        triggers: list[pgtrigger.Trigger] = [NO_REWRITE, NO_TRUNCATE]
        indexes = [models.Index(fields=["recheck", "at"])]

    def __str__(self) -> str:
        return "fine" if self.fine else "not fine"
