"""By which ways a member is reached, and at what time of day each."""

from datetime import datetime
from typing import Self

from django.db import models
from django.db.models import Q

from rotas.models.member import Member
from rotas.models.outbox import Channel
from rotas.models.practice import PracticeRow, PracticeRowQuerySet
from rotas.models.tracking import tracked


class ReachQuerySet(PracticeRowQuerySet):
    """Ways by whether they still stand."""

    def standing(self) -> Self:
        """Keep the ways that have not been ended, first choice first."""
        return self.filter(ended_at__isnull=True).order_by("order", "pk")


@tracked
class Reach(PracticeRow):
    """One way to reach one member, such as a text message from 20:00 to 06:00.

    `from_clock` and `until_clock` are local, half-open; both blank means at any hour. A way with a
    lower `order` is used before a higher one that is open at the same time.
    """

    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="reach")
    channel = models.CharField(max_length=8, choices=Channel)
    address = models.CharField(max_length=254, help_text="E-mail address, or E.164 number.")
    from_clock = models.TimeField(null=True, blank=True)
    until_clock = models.TimeField(null=True, blank=True)
    order = models.PositiveSmallIntegerField(default=1)
    made_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    objects = ReachQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["member", "channel", "address", "from_clock", "until_clock"],
                condition=Q(ended_at__isnull=True),
                nulls_distinct=False,
                name="reach_once_per_member",
            ),
            models.CheckConstraint(condition=~Q(channel="call"), name="reach_is_by_a_line"),
            models.CheckConstraint(
                condition=Q(from_clock__isnull=True, until_clock__isnull=True)
                | Q(from_clock__isnull=False, until_clock__isnull=False),
                name="reach_has_both_clocks_or_none",
            ),
            models.CheckConstraint(
                condition=Q(ended_at__isnull=True) | Q(ended_at__gte=models.F("made_at")),
                name="reach_ends_after_made",
            ),
        ]
        indexes = [models.Index(fields=["practice", "address"])]

    def __str__(self) -> str:
        return f"{self.member}: {self.get_channel_display()} to {self.address}"

    def end(self, now: datetime) -> None:
        """Let the way stand no longer."""
        self.ended_at = now
        self.save(update_fields=["ended_at"])
