"""Where animals stood, when they calved, what was tested, how they left: what dates of sale follow."""

from datetime import datetime
from typing import Self

from django.contrib.postgres.constraints import ExclusionConstraint
from django.contrib.postgres.fields import DateTimeRangeField, RangeOperators
from django.core.serializers.json import DjangoJSONEncoder
from django.db import models
from django.db.models import F, Func, Q, Value

from cases.models.client import Animal, Group, Location
from cases.models.medicine import Commodity
from cases.models.treatment import Treatment
from rotas.models import Member, OutboxMessage, PracticeRow, PracticeRowQuerySet, Vet
from rotas.models.tracking import tracked

ANIMAL_OR_GROUP = Q(animal__isnull=False, group__isnull=True) | Q(animal__isnull=True, group__isnull=False)


def same_animal() -> Func:
    """Return the animal as a one-value range, so that no extension of the database is needed."""
    return Func(F("animal"), F("animal"), Value("[]"), function="int8range")


def stretch() -> Func:
    """Return the time of a stay, [from_at, until_at); without an end it goes on."""
    return Func(
        F("from_at"),
        F("until_at"),
        Value("[)"),
        function="tstzrange",
        output_field=DateTimeRangeField(),
    )


class GroupStayQuerySet(PracticeRowQuerySet):
    """Stays by time."""

    def at(self, moment: object) -> Self:
        """Keep those who stood there at the moment."""
        return self.filter(from_at__lte=moment).exclude(until_at__lte=moment)

    def standing(self) -> Self:
        """Keep those who have not been moved out."""
        return self.filter(until_at=None)


@tracked
class GroupStay(PracticeRow):
    """An animal stood in a pen or batch, [from_at, until_at); without an end it still does."""

    group = models.ForeignKey(Group, on_delete=models.PROTECT, related_name="stays")
    animal = models.ForeignKey(Animal, on_delete=models.PROTECT, related_name="stays")
    from_at = models.DateTimeField()
    until_at = models.DateTimeField(null=True, blank=True)
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")

    objects = GroupStayQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(until_at__isnull=True) | Q(until_at__gt=F("from_at")),
                name="stay_ends_after_it_starts",
            ),
            ExclusionConstraint(
                name="stay_once_at_a_time",
                expressions=[(same_animal(), RangeOperators.OVERLAPS), (stretch(), RangeOperators.OVERLAPS)],
            ),
        ]
        indexes = [models.Index(fields=["group", "until_at"])]

    def __str__(self) -> str:
        return f"{self.animal} in {self.group.name}"

    def stands(self, at: datetime | None) -> bool:
        """Say whether it stood there at the moment; without one, whether it has not been moved out."""
        return self.until_at is None if at is None else self.during(at, at)

    def during(self, first: datetime, last: datetime) -> bool:
        """Say whether it stood there at any moment from the first to the last, both included."""
        return self.from_at <= last and (self.until_at is None or self.until_at > first)

    def throughout(self, first: datetime, last: datetime) -> bool:
        """Say whether it stood there from the first to the last, both included."""
        return self.from_at <= first and (self.until_at is None or self.until_at > last)


@tracked
class Calving(PracticeRow):
    """A cow calved. Corrections are added; the newest of its story stands."""

    animal = models.ForeignKey(Animal, on_delete=models.PROTECT, related_name="calvings")
    calved_at = models.DateTimeField()
    never = models.BooleanField(default=False, help_text="She did not calve: it was written by mistake.")
    note = models.TextField(blank=True)
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    signed_by = models.ForeignKey(
        Vet,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        help_text="Whoever signed that a date becomes earlier by it.",
    )
    corrects = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="corrected_by"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(calved_at__lte=F("recorded_at")), name="calving_not_from_the_future"
            )
        ]
        indexes = [models.Index(fields=["animal", "calved_at"])]

    def __str__(self) -> str:
        return f"{self.animal} calved"


class ResidueResult(models.TextChoices):
    """What a residue test said."""

    CLEAR = "clear", "clear"
    FAILED = "failed", "failed: residues found"


@tracked
class ResidueTest(PracticeRow):
    """A test of milk, meat or eggs for residues. A clear one never shortens; a failed one opens the end."""

    location = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="residue_tests")
    animal = models.ForeignKey(
        Animal, on_delete=models.PROTECT, null=True, blank=True, related_name="residue_tests"
    )
    group = models.ForeignKey(
        Group, on_delete=models.PROTECT, null=True, blank=True, related_name="residue_tests"
    )
    commodity = models.CharField(max_length=4, choices=Commodity)
    taken_at = models.DateTimeField(help_text="When the sample was taken.")
    test = models.CharField(max_length=120, help_text="Which test, by its kind.")
    tested_by = models.CharField(max_length=120, help_text="Who tested.")
    result = models.CharField(max_length=8, choices=ResidueResult)
    note = models.TextField(blank=True)
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=ANIMAL_OR_GROUP, name="residue_test_of_an_animal_or_a_group"),
            models.CheckConstraint(
                condition=Q(taken_at__lte=F("recorded_at")), name="residue_test_not_from_the_future"
            ),
        ]
        indexes = [models.Index(fields=["practice", "result"])]

    def __str__(self) -> str:
        return f"{self.commodity} test of {self.animal or self.group}: {self.get_result_display()}"


class HoldCause(models.TextChoices):
    """Why produce is held without a treatment of ours."""

    BOUGHT_IN = "bought_in", "bought in"
    RESIDUE = "residue", "a residue test failed"
    POISON = "poison", "poisoning"
    UNKNOWN = "unknown", "what was given is not known"


@tracked
class OtherHold(PracticeRow):
    """Produce held for another reason than our own treatment. No end means: not known, so held.

    Only a vet sets the end, by signature; a seller's written word counts where a vet has seen it.
    """

    location = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="other_holds")
    animal = models.ForeignKey(
        Animal, on_delete=models.PROTECT, null=True, blank=True, related_name="other_holds"
    )
    group = models.ForeignKey(
        Group, on_delete=models.PROTECT, null=True, blank=True, related_name="other_holds"
    )
    commodity = models.CharField(max_length=4, choices=Commodity)
    cause = models.CharField(max_length=10, choices=HoldCause)
    test = models.ForeignKey(
        ResidueTest, on_delete=models.PROTECT, null=True, blank=True, related_name="holds"
    )
    from_at = models.DateTimeField()
    ends_at = models.DateTimeField(null=True, blank=True)
    first_saleable_at = models.DateTimeField(null=True, blank=True)
    reason = models.TextField(blank=True)
    signed_by = models.ForeignKey(Vet, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    signed_at = models.DateTimeField(null=True, blank=True)
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=ANIMAL_OR_GROUP, name="other_hold_of_an_animal_or_a_group"),
            models.CheckConstraint(
                condition=Q(ends_at__isnull=True) | Q(signed_by__isnull=False, signed_at__isnull=False),
                name="other_hold_end_is_signed",
            ),
            models.CheckConstraint(
                condition=Q(first_saleable_at__isnull=True) | Q(first_saleable_at__gte=F("ends_at")),
                name="other_hold_saleable_after_end",
            ),
        ]
        indexes = [models.Index(fields=["practice", "ends_at"])]

    def __str__(self) -> str:
        return f"{self.commodity} of {self.animal or self.group}: {self.get_cause_display()}"


@tracked
class NotGiven(PracticeRow):
    """A treatment that was written down by mistake: it was never given. A vet signs that."""

    treatment = models.OneToOneField(Treatment, on_delete=models.PROTECT, related_name="not_given")
    reason = models.TextField()
    signed_by = models.ForeignKey(Vet, on_delete=models.PROTECT, related_name="+")
    signed_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~Q(reason=""), name="not_given_has_a_reason"),
        ]

    def __str__(self) -> str:
        return f"{self.treatment}: never given"


class EndKind(models.TextChoices):
    """How an animal or a group left the farm."""

    DIED = "died", "died"
    SOLD = "sold", "sold alive"
    SLAUGHTERED = "slaughtered", "sent for slaughter"
    EUTHANISED = "euthanised", "put down"


class EndRoute(models.TextChoices):
    """Where the carcass or the animal went."""

    FOOD = "food", "for food"
    DEAD_STOCK = "dead_stock", "dead stock only"
    ALIVE = "alive", "alive to a new keeper"


@tracked
class AnimalEnd(PracticeRow):
    """How an animal or a group left, what was still held then, and who was told of it."""

    location = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="animal_ends")
    animal = models.ForeignKey(Animal, on_delete=models.PROTECT, null=True, blank=True, related_name="ends")
    group = models.ForeignKey(Group, on_delete=models.PROTECT, null=True, blank=True, related_name="ends")
    kind = models.CharField(max_length=12, choices=EndKind)
    route = models.CharField(max_length=10, choices=EndRoute)
    at = models.DateTimeField()
    method = models.CharField(max_length=120, blank=True, help_text="How it was put down.")
    buyer = models.CharField(max_length=160, blank=True)
    buyer_email = models.EmailField(blank=True)
    told_in_writing = models.TextField(blank=True, help_text="What the buyer was given, and how.")
    message = models.ForeignKey(
        OutboxMessage, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    held = models.JSONField(
        default=list, blank=True, encoder=DjangoJSONEncoder, help_text="What was held then."
    )
    note = models.TextField(blank=True)
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    undone_at = models.DateTimeField(null=True, blank=True, help_text="It was written by mistake.")
    undone_reason = models.TextField(blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=ANIMAL_OR_GROUP, name="animal_end_of_an_animal_or_a_group"),
            models.CheckConstraint(
                condition=~Q(kind="euthanised") | Q(route="dead_stock"), name="animal_end_put_down_is_no_food"
            ),
            models.CheckConstraint(
                condition=~Q(kind="died") | Q(route="dead_stock"), name="animal_end_died_is_no_food"
            ),
            models.CheckConstraint(
                condition=~Q(kind="sold") | Q(route="alive"), name="animal_end_sold_is_alive"
            ),
            models.CheckConstraint(
                condition=~Q(kind="slaughtered") | ~Q(route="alive"),
                name="animal_end_slaughtered_has_a_route",
            ),
            models.UniqueConstraint(
                fields=["animal"],
                condition=Q(animal__isnull=False, undone_at__isnull=True),
                name="animal_ends_once",
            ),
            models.UniqueConstraint(
                fields=["group"],
                condition=Q(group__isnull=False, undone_at__isnull=True),
                name="group_ends_once",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.animal or self.group}: {self.get_kind_display()}"
