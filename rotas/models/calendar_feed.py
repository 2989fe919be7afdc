"""Addresses under which a calendar program reads the rota."""

from datetime import datetime
from typing import Self

from django.db import models
from django.db.models import F, Q

from rotas.models.member import Member
from rotas.models.practice import PracticeRow, PracticeRowQuerySet
from rotas.models.tracking import tracked_except
from rotas.models.vet import Vet


class CalendarFeedQuerySet(PracticeRowQuerySet):
    """Feeds by whether they still open."""

    def open(self) -> Self:
        """Keep the feeds that are not revoked, whose maker is still here and whose vet still works here."""
        return self.filter(
            Q(vet__isnull=True) | Q(vet__active=True, vet__member__is_active=True),
            revoked_at__isnull=True,
            made_by__is_active=True,
        )


@tracked_except("secret_hash", "last_read_at")
class CalendarFeed(PracticeRow):
    """One address: whoever holds its secret reads the duties of one vet, or of the whole practice.

    Only the SHA-256 of the secret is kept, in hexadecimal.
    """

    vet = models.ForeignKey(
        Vet, on_delete=models.PROTECT, null=True, blank=True, related_name="calendar_feeds",
        help_text="Empty: the whole practice.",
    )  # fmt: skip
    secret_hash = models.CharField(max_length=64)
    used_for = models.CharField(max_length=60, blank=True, help_text="Such as: my telephone.")
    made_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)
    last_read_at = models.DateTimeField(null=True, blank=True)

    objects = CalendarFeedQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["secret_hash"], name="calendar_secret_once"),
            models.CheckConstraint(
                condition=Q(revoked_at__isnull=True) | Q(revoked_at__gte=F("made_at")),
                name="calendar_revoked_after_made",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.vet.name}'s duties" if self.vet else "the whole rota"

    def was_read_after(self, moment: datetime) -> bool:
        """Say whether it was read later than the moment."""
        return self.last_read_at is not None and self.last_read_at > moment
