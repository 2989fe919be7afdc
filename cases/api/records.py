"""A farm's medicine record, its treated list, and both in the open exchange standard."""

from dataclasses import asdict
from datetime import datetime, time, timedelta
from math import ceil
from typing import Any

from drf_spectacular.utils import OpenApiParameter, extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from cases.access import location_in
from cases.models import Location
from cases.records.line import COMMODITIES, Standing
from cases.records.treated import Treated
from cases.services.exchange import KINDS, OTHER_KINDS, exchanged
from cases.services.medicine_record import record_lines, treated_now
from rotas.api.door import BadQuery, Door
from rotas.api.lists import PAGE, Listing
from rotas.api.shape import Day, Instant
from rotas.errors import NotFound
from rotas.models import Role

ASKED = "The last year unless said."


class SubjectShown(serializers.Serializer):
    """The animal, or the pen, that was treated."""

    is_group = serializers.BooleanField()
    id = serializers.IntegerField(source="key")
    name = serializers.CharField(help_text="The farm's own number of an animal, or the pen's name.")
    tag = serializers.CharField(help_text="Empty for a pen.")
    species = serializers.CharField()
    head = serializers.IntegerField()


class EndingShown(serializers.Serializer):
    """One commodity. `clear_at` null while it is held: until the vet sets a date, never zero."""

    commodity = serializers.ChoiceField(choices=COMMODITIES)
    standing = serializers.ChoiceField(choices=[each.value for each in Standing])
    clear_at = Instant(allow_null=True)
    ends_at = Instant(allow_null=True)
    set_by = serializers.CharField()


class GivenLineShown(serializers.Serializer):
    """One line of the record. A corrected line stays in it."""

    treatment = serializers.IntegerField(source="key")
    recorded_at = Instant()
    first_given_at = Instant()
    last_given_at = Instant()
    doses = serializers.IntegerField()
    subject = SubjectShown()
    medicine = serializers.CharField()
    amount = serializers.DecimalField(9, 3, coerce_to_string=False)
    unit = serializers.CharField()
    route = serializers.CharField()
    batch = serializers.CharField()
    expires_on = serializers.DateField(allow_null=True)
    diagnosis = serializers.CharField()
    off_label_reason = serializers.CharField()
    marks = serializers.CharField()
    vet = serializers.CharField()
    given_by = serializers.CharField()
    corrects = serializers.IntegerField(allow_null=True)
    corrected_by = serializers.IntegerField(allow_null=True)
    never_given = serializers.CharField(
        help_text="Why it was written down by mistake, where a vet signed that."
    )
    endings = EndingShown(many=True)


class WallHeldShown(serializers.Serializer):
    """What is held of one commodity. `clear_at` null: nobody can name a date; keep it out."""

    commodity = serializers.ChoiceField(choices=COMMODITIES)
    clear_at = Instant(allow_null=True)
    is_milking = serializers.BooleanField(help_text="That moment is the start of a milking of the herd.")
    forbidden = serializers.BooleanField(help_text="The label forbids the use: there is no date at all.")
    because = serializers.ListField(child=serializers.CharField())


class TreatedShown(serializers.Serializer):
    """An animal or a pen of which something is held now."""

    subject = SubjectShown()
    marks = serializers.CharField()
    medicines = serializers.ListField(child=serializers.CharField())
    held = serializers.SerializerMethodField()

    @staticmethod
    @extend_schema_field(WallHeldShown(many=True))
    def get_held(row: Treated) -> list[dict[str, Any]]:
        """Return one entry per commodity that is held."""
        return [
            dict(WallHeldShown({"commodity": commodity, **asdict(each)}).data)
            for commodity, each in row.held.items()
        ]


class RecordAsked(Listing):
    """The days, both included."""

    first = Day(required=False, help_text=ASKED)
    last = Day(required=False, help_text=ASKED)


class MedicineRecord(Door):
    """A farm's medicine record."""

    roles = (Role.RECEPTION, Role.VET)

    @extend_schema(
        operation_id="medicine_record",
        parameters=[RecordAsked],
        responses=GivenLineShown(many=True),
        summary="A farm's medicine record",
    )
    def get(self, request: Request, pk: int) -> Response:
        """List what this practice gave on the farm, oldest first, corrected lines too."""
        location, asked = location_in(self.practice, pk), self.asked(RecordAsked)
        last = asked.get("last") or self.practice.local(self.now).date()
        first = asked.get("first") or last - timedelta(days=365)
        if first > last:
            raise BadQuery([{"parameter": "last", "detail": "The last day comes after the first."}])
        start, end = (
            datetime.combine(day, time(), tzinfo=self.practice.tz)
            for day in (first, last + timedelta(days=1))
        )
        return self.page_of(list(record_lines(location, start, end)), GivenLineShown)


class TreatedAnimals(Door):
    """A farm's treated list."""

    roles = (Role.RECEPTION, Role.VET)

    @extend_schema(
        operation_id="treated_animals",
        parameters=[Listing],
        responses=TreatedShown(many=True),
        summary="Animals of which something is held",
    )
    def get(self, request: Request, pk: int) -> Response:
        """List the animals and pens whose milk, meat or eggs are held now; the longest period governs."""
        self.asked(Listing)
        return self.page_of(list(treated_now(location_in(self.practice, pk), self.now)), TreatedShown)


class ExchangeAsked(Listing):
    """Which page, and what has changed since when."""

    modified_from = Instant(required=False, help_text="Only what was written or corrected at or after this.")


class Exchange(Door):
    """One farm's data in the ICAR Animal Data Exchange standard."""

    roles = (Role.RECEPTION, Role.VET)

    @extend_schema(
        operation_id="exchange",
        parameters=[
            OpenApiParameter("kind", str, OpenApiParameter.PATH, enum=sorted([*KINDS, *OTHER_KINDS])),
            ExchangeAsked,
        ],
        responses={(200, "application/json"): {"type": "object", "additionalProperties": True}},
        summary="A farm's data in the ICAR Animal Data Exchange standard",
    )
    def get(self, request: Request, pk: int, kind: str) -> Response:
        """Answer one page of the resources. A corrected record comes once more, marked as deleted."""
        location, asked = location_in(self.practice, pk), self.asked(ExchangeAsked)
        if kind not in (*KINDS, *OTHER_KINDS):
            raise NotFound(what="resource")
        return Response(self._page(location, kind, asked))

    def _page(self, location: Location, kind: str, asked: dict[str, Any]) -> dict[str, Any]:
        rows = exchanged(location, kind, asked.get("modified_from"), self.now)
        page, size = asked.get("page", 1), asked.get("page_size", PAGE)
        pages = max(1, ceil(len(rows) / size))
        if page > pages:
            raise NotFound(what="page")
        view = {"totalItems": len(rows), "totalPages": pages, "currentPage": page}
        return {"view": view, "member": rows[(page - 1) * size : page * size]}
