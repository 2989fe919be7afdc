"""Booked visits, attendances and what was reported from them."""

from typing import Self

import pgtrigger
from django.contrib.postgres.fields import DateTimeRangeField
from django.db import models
from django.db.models import F, Q

from cases.models.call import Call
from cases.models.client import Location
from rotas.models import Member, PracticeRow, PracticeRowQuerySet, RestException, Vet
from rotas.models.tracking import NO_REWRITE, NO_TRUNCATE, tracked


class BookedKind(models.TextChoices):
    """Why the visit is in the book."""

    ROUTINE = "routine", "routine work"
    RECHECK = "recheck", "recheck"
    TEST_READING = "test_reading", "test reading"


class BookedState(models.TextChoices):
    """Where a booked visit stands."""

    BOOKED = "booked", "booked"
    DONE = "done", "done"
    CANCELLED = "cancelled", "cancelled"


@tracked
class BookedVisit(PracticeRow):
    """Planned work with the window in which it must start, half-open."""

    location = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="booked_visits")
    kind = models.CharField(max_length=12, choices=BookedKind, default=BookedKind.ROUTINE)
    complaint = models.CharField(max_length=60, help_text="A scheduled row of the complaint catalogue.")
    note = models.TextField(blank=True)
    window = DateTimeRangeField()
    minutes_median = models.PositiveSmallIntegerField()
    minutes_pessimistic = models.PositiveSmallIntegerField()
    vet = models.ForeignKey(
        Vet,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="booked_visits",
        help_text="Only this vet, such as the one who injected.",
    )
    booked_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, related_name="+")
    state = models.CharField(max_length=10, choices=BookedState, default=BookedState.BOOKED)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(window__isempty=False, window__lower_inf=False, window__upper_inf=False),
                name="booked_window_ends_after_start",
            ),
            models.CheckConstraint(
                condition=Q(minutes_median__gt=0) & Q(minutes_pessimistic__gte=F("minutes_median")),
                name="booked_minutes_in_order",
            ),
        ]
        indexes = [models.Index(fields=["practice", "state"])]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} at {self.location}"


class VisitState(models.TextChoices):
    """Where a vet's attendance stands."""

    ACCEPTED = "accepted", "accepted"
    SET_OUT = "set_out", "on the way"
    ON_FARM = "on_farm", "on farm"
    FINISHED = "finished", "finished"
    STOOD_DOWN = "stood_down", "stood down"


ACTIVE_VISITS = (VisitState.ACCEPTED, VisitState.SET_OUT, VisitState.ON_FARM)


class VisitQuerySet(PracticeRowQuerySet):
    """Attendances by where they stand."""

    def active(self) -> Self:
        """Keep what is accepted and not finished."""
        return self.filter(state__in=ACTIVE_VISITS)

    def standing(self) -> Self:
        """Keep every attendance that was not stood down."""
        return self.exclude(state=VisitState.STOOD_DOWN)


@tracked
class Visit(PracticeRow):
    """One vet's attendance at a call or a booked visit. A two-vet job has places 1 and 2."""

    call = models.ForeignKey(Call, on_delete=models.PROTECT, null=True, blank=True, related_name="visits")
    booked = models.ForeignKey(
        BookedVisit, on_delete=models.PROTECT, null=True, blank=True, related_name="visits"
    )
    vet = models.ForeignKey(Vet, on_delete=models.PROTECT, related_name="visits")
    place = models.PositiveSmallIntegerField(default=1)
    state = models.CharField(max_length=10, choices=VisitState, default=VisitState.ACCEPTED)
    accepted_at = models.DateTimeField()
    set_out_at = models.DateTimeField(null=True, blank=True)
    on_farm_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    home_at = models.DateTimeField(null=True, blank=True)
    minutes_left_estimate = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="The vet's own word, counted from `estimated_at`."
    )
    estimated_at = models.DateTimeField(null=True, blank=True)
    exception = models.ForeignKey(
        RestException, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    notes = models.TextField(blank=True)

    objects = VisitQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(call__isnull=False, booked__isnull=True)
                | Q(call__isnull=True, booked__isnull=False),
                name="visit_is_to_a_call_or_a_booking",
            ),
            models.UniqueConstraint(
                fields=["call", "place"],
                condition=~Q(state="stood_down") & Q(call__isnull=False),
                name="visit_one_acceptance_per_place",
            ),
            models.UniqueConstraint(
                fields=["call", "vet"],
                condition=~Q(state="stood_down") & Q(call__isnull=False),
                name="visit_one_place_per_vet",
            ),
            models.UniqueConstraint(
                fields=["booked", "place"],
                condition=~Q(state="stood_down") & Q(booked__isnull=False),
                name="visit_one_vet_per_booking",
            ),
            models.CheckConstraint(condition=Q(place__in=(1, 2)), name="visit_place_one_or_two"),
            models.CheckConstraint(
                condition=Q(on_farm_at__isnull=True)
                | Q(set_out_at__isnull=True)
                | Q(on_farm_at__gte=F("set_out_at")),
                name="visit_arrives_after_setting_out",
            ),
            models.CheckConstraint(
                condition=Q(finished_at__isnull=True)
                | Q(on_farm_at__isnull=True)
                | Q(finished_at__gte=F("on_farm_at")),
                name="visit_finishes_after_arriving",
            ),
            models.CheckConstraint(
                condition=Q(home_at__isnull=True)
                | Q(finished_at__isnull=True)
                | Q(home_at__gte=F("finished_at")),
                name="visit_home_after_finishing",
            ),
        ]
        indexes = [models.Index(fields=["practice", "state"]), models.Index(fields=["vet", "state"])]

    def __str__(self) -> str:
        return f"{self.vet} at {self.call or self.booked}"

    @property
    def location(self) -> Location | None:
        """The farm, or None while a caller's farm is unknown."""
        job = self.call or self.booked
        return job.location if job else None


class ReportKind(models.TextChoices):
    """What a vet reports of an attendance."""

    SET_OUT = "set_out", "set out"
    ON_FARM = "on_farm", "on farm"
    ESTIMATE = "estimate", "minutes left"
    FINISHED = "finished", "finished"
    HOME = "home", "home safe"


class VisitReport(PracticeRow):
    """One report with the moment it happened and the moment it reached us. Never changed.

    `key` is made by the sender: the same report sent again is the same row.
    """

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="reports")
    kind = models.CharField(max_length=10, choices=ReportKind)
    happened_at = models.DateTimeField()
    received_at = models.DateTimeField()
    minutes = models.PositiveSmallIntegerField(null=True, blank=True)
    note = models.TextField(blank=True)
    key = models.CharField(max_length=80)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["visit", "key"], name="report_once"),
            models.CheckConstraint(
                condition=Q(happened_at__lte=F("received_at")), name="report_not_from_the_future"
            ),
        ]
        triggers: list[pgtrigger.Trigger] = [NO_REWRITE, NO_TRUNCATE]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} at {self.happened_at:%H:%M}"
