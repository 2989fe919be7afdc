"""The day's book: planned work in its windows."""

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from cases.access import booked_in
from cases.api.calls import AttendanceShown
from cases.api.farms import FarmShown
from cases.models import BookedKind, BookedState, BookedVisit
from cases.services.booking import DiaryEntry, book_visit, cancel_booking, diary
from rotas.api.door import Door, once
from rotas.api.lists import Listing
from rotas.api.shape import Day, Instant, Shape, Text, Whole, Word, renamed


class BookingShown(serializers.Serializer):
    """Planned work that has to start in [starts_from, starts_before)."""

    id = serializers.IntegerField(source="booked.id")
    state = serializers.ChoiceField(choices=BookedState.choices, source="booked.state")
    kind = serializers.ChoiceField(choices=BookedKind.choices, source="booked.kind")
    complaint = serializers.CharField(source="booked.complaint")
    note = serializers.CharField(source="booked.note")
    location = FarmShown(source="booked.location")
    starts_from = Instant(source="booked.window.lower")
    starts_before = Instant(source="booked.window.upper")
    minutes_median = serializers.IntegerField(source="booked.minutes_median")
    minutes_pessimistic = serializers.IntegerField(source="booked.minutes_pessimistic")
    only_vet = serializers.IntegerField(source="booked.vet_id", allow_null=True)
    visit = AttendanceShown(allow_null=True)


class BookingsAsked(Listing):
    """Which day."""

    day = Day(required=False, help_text="A day of the practice's calendar; today, unless said.")


class BookingGiven(Shape):
    """What, where and when."""

    location = Whole()
    kind = Word(choices=BookedKind.choices)
    complaint = Text(max_length=60, help_text="A scheduled row of the complaint catalogue.")
    start = Instant()
    end = Instant()
    vet = Whole(required=False, allow_null=True, help_text="Only this vet may do it.")
    note = Text(required=False)


class Bookings(Door):
    """The day's book."""

    @extend_schema(
        operation_id="bookings",
        parameters=[BookingsAsked],
        responses=BookingShown(many=True),
        summary="The day's book",
    )
    def get(self, request: Request) -> Response:
        """List what is booked for a day, in order of the windows."""
        day = self.asked(BookingsAsked).get("day") or self.practice.local(self.now).date()
        return self.page_of(list(diary(self.practice, day)), BookingShown)

    @extend_schema(
        operation_id="book_visit", request=BookingGiven, responses={201: BookingShown}, summary="Book a visit"
    )
    @once
    def post(self, request: Request) -> Response:
        """Book planned work into a window."""
        given = renamed(self.given(BookingGiven), location="location_id", vet="vet_id")
        booked = book_visit(practice=self.practice, actor=self.member, now=self.now, **given)
        return self.show(entry_of(booked), BookingShown, status=201)


class BookingCancelGiven(Shape):
    """Why it is not wanted any more."""

    reason = Text()


class BookingCancel(Door):
    """Taking a booking out of the book."""

    @extend_schema(
        operation_id="cancel_booking",
        request=BookingCancelGiven,
        responses=BookingShown,
        summary="Cancel a booking",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Take a booked visit out of the book."""
        given = self.given(BookingCancelGiven)
        booked = cancel_booking(
            booked_id=booked_in(self.practice, pk).pk, actor=self.member, now=self.now, **given
        )
        return self.show(entry_of(booked), BookingShown)


def entry_of(booked: BookedVisit) -> DiaryEntry:
    """Return the booking as a line of the day."""
    return DiaryEntry(booked, booked.visits.standing().select_related("vet__member").first())
