"""Messages that are owed about a recheck, a treatment or a withdrawal."""

from datetime import datetime
from typing import Self

from django.db import models
from django.db.models import Q

from cases.models.client import Client, Location
from cases.models.recheck import Recheck
from cases.models.treatment import Treatment
from cases.models.withdrawal import Withdrawal
from rotas.models import OutboxMessage, PracticeRow, PracticeRowQuerySet
from rotas.models.tracking import tracked


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
