"""A request for help, from the first ring to its end."""

from typing import Self

from django.db import models
from django.db.models import F, Q
from phonenumber_field.modelfields import PhoneNumberField

from cases.models.client import Client, Group, Location
from rotas.models import Member, PracticeRow, PracticeRowQuerySet
from rotas.models.tracking import tracked


class Urgency(models.TextChoices):
    """The class that triage gave, most urgent first. The words are the triage core's."""

    IMMEDIATE = "immediate", "immediate"
    URGENT = "urgent", "urgent"
    SAME_DAY = "same_day", "same day"
    NEXT_WORKING_DAY = "next_working_day", "next working day"
    ADVICE = "advice", "advice"


class CallState(models.TextChoices):
    """Where a call stands. The last four end it."""

    WAITING = "waiting", "waiting"
    ACCEPTED = "accepted", "accepted"
    UNDER_WAY = "under_way", "under way"
    DEFERRED = "deferred", "left for the day team"
    SERVED = "served", "served"
    ADVISED = "advised", "advised by telephone"
    HANDED_OVER = "handed_over", "handed over"
    CANCELLED = "cancelled", "cancelled"


OPEN_STATES = (CallState.WAITING, CallState.ACCEPTED, CallState.UNDER_WAY, CallState.DEFERRED)


class CallQuerySet(PracticeRowQuerySet):
    """Calls by where they stand."""

    def open(self) -> Self:
        """Keep what is still owed something, what was left for the day team included."""
        return self.filter(state__in=OPEN_STATES)

    def wanting_a_vet(self) -> Self:
        """Keep the open calls that want a visit and have a place nobody has taken."""
        return self.filter(state__in=(CallState.WAITING, CallState.DEFERRED), visit_wanted=True)

    def longest_waiting_first(self) -> Self:
        """Order by when the telephone rang."""
        return self.order_by("called_at", "pk")


@tracked
class Call(PracticeRow):
    """A call. Two clocks: biology runs from `onset_at`, service from `called_at`."""

    number = models.PositiveIntegerField(help_text="Counted per practice, said aloud.")
    client = models.ForeignKey(Client, on_delete=models.PROTECT, null=True, blank=True, related_name="calls")
    location = models.ForeignKey(
        Location, on_delete=models.PROTECT, null=True, blank=True, related_name="calls"
    )
    group = models.ForeignKey(Group, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    caller_name = models.CharField(max_length=120, blank=True)
    caller_phone = PhoneNumberField(blank=True)
    place_note = models.TextField(blank=True, help_text="Which gate, which pen.")
    complaint = models.CharField(max_length=60)
    species = models.CharField(max_length=20)
    affected = models.PositiveIntegerField(default=1)
    details = models.TextField(blank=True)
    answers = models.JSONField(default=dict, blank=True)

    called_at = models.DateTimeField()
    onset_at = models.DateTimeField(null=True, blank=True)
    taken_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")

    urgency = models.CharField(max_length=20, choices=Urgency)
    base_urgency = models.CharField(max_length=20, choices=Urgency)
    lowered_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    arrive_by = models.DateTimeField(null=True, blank=True)
    worse_at = models.DateTimeField(null=True, blank=True)
    biology_passed = models.BooleanField(default=False)
    vet_phone_by = models.DateTimeField(null=True, blank=True)
    visit_wanted = models.BooleanField(default=True)
    vets_needed = models.PositiveSmallIntegerField(default=1)
    minutes_median = models.PositiveSmallIntegerField()
    minutes_pessimistic = models.PositiveSmallIntegerField()
    assessment = models.JSONField(
        default=dict, help_text="Reasons, flags, advice, skills and kit as the triage core gave them."
    )

    state = models.CharField(max_length=12, choices=CallState, default=CallState.WAITING)
    not_before = models.DateTimeField(null=True, blank=True, help_text="Left for the day team until here.")
    promised_from = models.DateTimeField(null=True, blank=True)
    promised_until = models.DateTimeField(null=True, blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)
    outcome = models.TextField(blank=True)
    handed_over_to = models.CharField(max_length=160, blank=True, help_text="Who accepted it, by name.")

    objects = CallQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["practice", "number"], name="call_number_once"),
            models.CheckConstraint(condition=Q(vets_needed__in=(1, 2)), name="call_needs_one_or_two_vets"),
            models.CheckConstraint(
                condition=Q(onset_at__isnull=True) | Q(onset_at__lte=F("called_at")),
                name="call_onset_before_call",
            ),
            models.CheckConstraint(
                condition=Q(arrive_by__isnull=True) | Q(arrive_by__gte=F("called_at")),
                name="call_arrive_by_after_call",
            ),
            models.CheckConstraint(
                condition=Q(minutes_pessimistic__gte=F("minutes_median")), name="call_minutes_in_order"
            ),
            models.CheckConstraint(
                condition=Q(state__in=OPEN_STATES, closed_at__isnull=True)
                | (~Q(state__in=OPEN_STATES) & Q(closed_at__isnull=False)),
                name="call_closed_has_a_time",
            ),
            models.CheckConstraint(
                condition=~Q(state="handed_over") | ~Q(handed_over_to=""), name="call_handed_over_by_name"
            ),
        ]
        indexes = [models.Index(fields=["practice", "state"]), models.Index(fields=["practice", "called_at"])]

    def __str__(self) -> str:
        return f"call {self.number}"

    @property
    def is_open(self) -> bool:
        """Say whether something is still owed."""
        return self.state in OPEN_STATES
