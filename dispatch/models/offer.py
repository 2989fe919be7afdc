"""A call put to one vet."""

from datetime import datetime
from typing import Self

from django.db import models
from django.db.models import F, Q

from cases.models import Call, Visit
from dispatch.models.plan import Plan
from rotas.models import Member, PracticeRow, PracticeRowQuerySet, RestException, Vet
from rotas.models.tracking import tracked


class OfferState(models.TextChoices):
    """Where an offer stands."""

    OPEN = "open", "open"
    ACCEPTED = "accepted", "accepted"
    DECLINED = "declined", "declined"
    LAPSED = "lapsed", "lapsed"
    WITHDRAWN = "withdrawn", "withdrawn"


class DeclineReason(models.TextChoices):
    """Why a vet says no, one tap each. "Too tired" is a full answer."""

    ON_A_JOB = "on_a_job", "already on a job"
    TOO_FAR = "too_far", "too far"
    KIT_MISSING = "kit_missing", "kit missing"
    SKILL = "skill", "not my skill"
    TOO_TIRED = "too_tired", "too tired"
    UNSAFE = "unsafe", "unsafe"
    CONFLICT = "conflict", "conflict"
    UNWELL = "unwell", "unwell"
    NO_REASON = "no_reason", "no reason given"


class OfferQuerySet(PracticeRowQuerySet):
    """Offers by where they stand."""

    def open(self) -> Self:
        """Keep what waits for an answer."""
        return self.filter(state=OfferState.OPEN)

    def to_lapse(self, now: datetime) -> Self:
        """Keep the open offers whose minutes are over."""
        return self.open().filter(lapses_at__lte=now)


@tracked
class Offer(PracticeRow):
    """A call put to one vet for one place, until it is answered or lapses."""

    call = models.ForeignKey(Call, on_delete=models.PROTECT, related_name="offers")
    vet = models.ForeignKey(Vet, on_delete=models.PROTECT, related_name="offers")
    place = models.PositiveSmallIntegerField(default=1)
    state = models.CharField(max_length=10, choices=OfferState, default=OfferState.OPEN)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    lapses_at = models.DateTimeField()
    answered_at = models.DateTimeField(null=True, blank=True)
    decline_reason = models.CharField(max_length=12, choices=DeclineReason, blank=True)
    decline_note = models.TextField(blank=True)
    why = models.TextField(blank=True, help_text="Why this vet, as shown to them.")
    eta = models.DateTimeField(null=True, blank=True)
    plan = models.ForeignKey(Plan, on_delete=models.PROTECT, null=True, blank=True, related_name="offers")
    exception = models.ForeignKey(
        RestException, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    visit = models.OneToOneField(Visit, on_delete=models.PROTECT, null=True, blank=True, related_name="offer")

    objects = OfferQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["call", "place"], condition=Q(state="open"), name="offer_one_open_per_place"
            ),
            models.UniqueConstraint(
                fields=["call", "vet"], condition=Q(state="open"), name="offer_one_open_per_vet"
            ),
            models.CheckConstraint(condition=Q(place__in=(1, 2)), name="offer_place_one_or_two"),
            models.CheckConstraint(condition=Q(lapses_at__gt=F("made_at")), name="offer_lapses_after_made"),
            models.CheckConstraint(
                condition=Q(state="open", answered_at__isnull=True)
                | (~Q(state="open") & Q(answered_at__isnull=False)),
                name="offer_answered_has_a_time",
            ),
            models.CheckConstraint(
                condition=~Q(state="declined") | ~Q(decline_reason=""), name="offer_declined_has_a_reason"
            ),
            models.CheckConstraint(
                condition=~Q(state="accepted") | Q(visit__isnull=False), name="offer_accepted_has_a_visit"
            ),
        ]
        indexes = [models.Index(fields=["state", "lapses_at"]), models.Index(fields=["vet", "state"])]

    def __str__(self) -> str:
        return f"{self.call} to {self.vet}"
