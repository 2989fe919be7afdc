"""A rota in the making, what became of it, and proposals to mend a published one."""

from datetime import date, datetime
from typing import Self

from django.contrib.postgres.constraints import ExclusionConstraint
from django.contrib.postgres.fields import DateTimeRangeField, RangeOperators
from django.core.serializers.json import DjangoJSONEncoder
from django.db import models
from django.db.models import F, Func, Q, Value

from rotas.models.availability import whole_days
from rotas.models.member import Member
from rotas.models.practice import PracticeRow, PracticeRowQuerySet
from rotas.models.shift import Shift
from rotas.models.tracking import tracked
from rotas.models.vet import ShiftRole, Vet


class RotaState(models.TextChoices):
    """Where a rota stands."""

    DRAFT = "draft", "draft"
    PUBLISHED = "published", "published"
    WITHDRAWN = "withdrawn", "withdrawn"


class BuildState(models.TextChoices):
    """Where the builder stands with a draft."""

    NONE = "none", "not built"
    ASKED = "asked", "being built"
    DONE = "done", "built"
    FAILED = "failed", "could not be built"


class RotaQuerySet(PracticeRowQuerySet):
    """Rotas by state and day."""

    def drafts(self) -> Self:
        """Keep what nobody but the managers sees."""
        return self.filter(state=RotaState.DRAFT)

    def published(self) -> Self:
        """Keep what has been told to everyone."""
        return self.filter(state=RotaState.PUBLISHED)

    def touching(self, first_day: date, last_day: date) -> Self:
        """Keep the rotas that share a day with these, both included."""
        return self.filter(first_day__lte=last_day, last_day__gte=first_day)


def same_practice() -> Func:
    """Return the practice as a one-value range."""
    return Func(F("practice"), F("practice"), Value("[]"), function="int8range")


@tracked
class Rota(PracticeRow):
    """Duties that begin on the local days first to last, both included.

    `answer` is what the builder said of its last work: a sentence, the gaps and the counts per
    person, as plain JSON. `build_number` grows with every time that a build is asked for, so that
    a worker that starts late, or twice, knows whether its work is still wanted.
    """

    name = models.CharField(max_length=120)
    first_day = models.DateField()
    last_day = models.DateField()
    state = models.CharField(max_length=10, choices=RotaState, default=RotaState.DRAFT)
    made_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    published_by = models.ForeignKey(
        Member, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    published_at = models.DateTimeField(null=True, blank=True)
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    build_state = models.CharField(max_length=6, choices=BuildState, default=BuildState.NONE)
    build_number = models.PositiveIntegerField(default=0)
    build_asked_at = models.DateTimeField(null=True, blank=True)
    build_seconds = models.FloatField(default=60)
    built_at = models.DateTimeField(null=True, blank=True)
    answer = models.JSONField(default=dict, blank=True, encoder=DjangoJSONEncoder)

    objects = RotaQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(last_day__gte=F("first_day")), name="rota_ends_after_start"),
            models.CheckConstraint(
                condition=~Q(state="published") | Q(published_at__isnull=False),
                name="rota_published_has_a_time",
            ),
            models.CheckConstraint(
                condition=~Q(state="withdrawn") | Q(withdrawn_at__isnull=False),
                name="rota_withdrawn_has_a_time",
            ),
            models.CheckConstraint(condition=Q(build_seconds__gt=0), name="rota_build_takes_time"),
            ExclusionConstraint(
                name="rota_one_published_per_day",
                expressions=[
                    (same_practice(), RangeOperators.OVERLAPS),
                    (whole_days(), RangeOperators.OVERLAPS),
                ],
                condition=Q(state="published"),
                violation_error_message="Another rota is published for one of these days.",
            ),
        ]
        indexes = [models.Index(fields=["practice", "state", "first_day"])]

    def __str__(self) -> str:
        return self.name


class DraftDutyQuerySet(PracticeRowQuerySet):
    """Duties of a draft."""

    def in_order(self) -> Self:
        """Order by start, first on call before second before day."""
        return self.order_by("period", "role", "pk")

    def unfilled(self) -> Self:
        """Keep the duties that nobody has."""
        return self.filter(vet__isnull=True)


@tracked
class DraftDuty(PracticeRow):
    """One duty of a draft, half-open [start, end); without a vet it is a gap.

    `day` is the local day on which it begins. `by_hand` marks what a manager placed: the builder
    leaves that as it is. A gap has the builder's reason and its ways out, as plain JSON.
    `shift` is what publishing made of it.
    """

    rota = models.ForeignKey(Rota, on_delete=models.CASCADE, related_name="duties")
    vet = models.ForeignKey(Vet, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    day = models.DateField()
    role = models.CharField(max_length=6, choices=ShiftRole)
    period = DateTimeRangeField()
    site = models.CharField(max_length=60, blank=True)
    at_workplace = models.BooleanField(default=False)
    by_hand = models.BooleanField(default=False)
    gap_reason = models.TextField(blank=True)
    ways_out = models.JSONField(default=list, blank=True, encoder=DjangoJSONEncoder)
    shift = models.ForeignKey(Shift, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    objects = DraftDutyQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(period__isempty=False, period__lower_inf=False, period__upper_inf=False),
                name="draft_duty_ends_after_it_starts",
            ),
        ]
        indexes = [models.Index(fields=["rota", "day"])]

    def __str__(self) -> str:
        return f"{self.vet or 'nobody'} {self.get_role_display()} {self.day}"

    @property
    def starts_at(self) -> datetime:
        """First instant on duty."""
        return self.period.lower

    @property
    def ends_at(self) -> datetime:
        """First instant off duty."""
        return self.period.upper


class RepairState(models.TextChoices):
    """Where a proposal to mend the rota stands."""

    PROPOSED = "proposed", "proposed"
    ACCEPTED = "accepted", "accepted"
    SUPERSEDED = "superseded", "superseded"


@tracked
class Repair(PracticeRow):
    """The smallest lawful change that covers a vet who is away in [start, end). No reason is kept.

    `changes` is plain JSON: which shift goes to which vet, with a sentence each; `gaps` is what
    nobody can cover, with the ways out; `broken` the sentences of rules that the result breaks.
    """

    vet = models.ForeignKey(Vet, on_delete=models.PROTECT, related_name="+")
    period = DateTimeRangeField()
    state = models.CharField(max_length=10, choices=RepairState, default=RepairState.PROPOSED)
    changes = models.JSONField(default=list, blank=True, encoder=DjangoJSONEncoder)
    gaps = models.JSONField(default=list, blank=True, encoder=DjangoJSONEncoder)
    broken = models.JSONField(default=list, blank=True, encoder=DjangoJSONEncoder)
    sentence = models.TextField(blank=True)
    made_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    accepted_by = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    accepted_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(period__isempty=False, period__lower_inf=False, period__upper_inf=False),
                name="repair_ends_after_it_starts",
            ),
            models.CheckConstraint(
                condition=~Q(state="accepted") | Q(accepted_at__isnull=False),
                name="repair_accepted_has_a_time",
            ),
            models.UniqueConstraint(
                fields=["vet"], condition=Q(state="proposed"), name="repair_one_proposal_per_vet"
            ),
        ]
        indexes = [models.Index(fields=["practice", "state"])]

    def __str__(self) -> str:
        return f"{self.vet} away: {self.sentence}"
