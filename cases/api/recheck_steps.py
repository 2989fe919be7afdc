"""What people do with a recheck: result, try, answer of the farm, end, animal, booking, event."""

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from cases.access import recheck_in
from cases.api.rechecks import AnswerShown, AttemptShown, RecheckShown, rechecks_shown
from cases.followups import Anchor
from cases.models import AnswerHow, AttemptHow, AttemptOutcome
from cases.services.recheck_animals import say_animal
from cases.services.recheck_answers import farmer_answers
from cases.services.recheck_attempts import record_attempt
from cases.services.recheck_booking import book_again
from cases.services.rechecks import anchor_happened, end_recheck, record_result
from rotas.access import require_role
from rotas.api.door import Door, once
from rotas.api.shape import Flag, Instant, Shape, Text, Whole, Word, renamed
from rotas.models import Role


class ResultGiven(Shape):
    """What was found."""

    result = Text()


class RecheckResult(Door):
    """The result of a recheck."""

    @extend_schema(
        operation_id="record_result", request=ResultGiven, responses=RecheckShown, summary="Close a recheck"
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Close a recheck with what was found. A call that nobody answered is no result."""
        given = self.given(ResultGiven)
        recheck = record_result(recheck_id=pk, actor=self.member, now=self.now, **given)
        return self.show(rechecks_shown(self).get(pk=recheck.pk), RecheckShown)


class AttemptGiven(Shape):
    """What came of a try."""

    outcome = Word(choices=AttemptOutcome.values)
    how = Word(choices=AttemptHow.values, required=False)
    note = Text(required=False)


class RecheckAttempts(Door):
    """Tries."""

    @extend_schema(
        operation_id="record_attempt",
        request=AttemptGiven,
        responses={201: AttemptShown},
        summary="Write a try that reached nobody",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Write that nobody was reached. It closes nothing; the second try escalates."""
        given = self.given(AttemptGiven)
        attempt = record_attempt(recheck_id=pk, actor=self.member, now=self.now, **given)
        return self.show(attempt, AttemptShown, status=201)


class AnswerGiven(Shape):
    """What the farm told me."""

    fine = Flag()
    words = Text(required=False)
    said_by = Text(required=False, max_length=120, help_text="Who spoke; the client unless said.")


class RecheckAnswers(Door):
    """The farm's answers."""

    @extend_schema(
        operation_id="farmer_answers",
        request=AnswerGiven,
        responses={201: AnswerShown},
        summary="Write what the farm said",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Write the farm's answer to its own check, told to me. Fine closes it, not fine escalates."""
        require_role(self.member, Role.RECEPTION, Role.VET)
        given = self.given(AnswerGiven)
        answer = farmer_answers(
            recheck=recheck_in(self.practice, pk),
            fine=given["fine"],
            words=given.get("words", ""),
            said_by=given.get("said_by", ""),
            how=AnswerHow.TELEPHONE,
            heard_by=self.member,
            at=self.now,
            now=self.now,
        )
        return self.show(answer, AnswerShown, status=201)


class EndGiven(Shape):
    """Why nothing has to be checked any more."""

    reason = Text()


class RecheckEnd(Door):
    """The end of a recheck without a result."""

    @extend_schema(
        operation_id="end_recheck", request=EndGiven, responses=RecheckShown, summary="End a recheck"
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """End a recheck that has become pointless, with the reason; a must needs a vet."""
        given = self.given(EndGiven)
        recheck = end_recheck(recheck_id=pk, actor=self.member, now=self.now, **given)
        return self.show(rechecks_shown(self).get(pk=recheck.pk), RecheckShown)


class RecheckAnimalGiven(Shape):
    """Which animal."""

    animal = Whole(allow_null=True, help_text="Null: no single one.")


class RecheckAnimal(Door):
    """The animal of a recheck."""

    @extend_schema(
        operation_id="say_recheck_animal",
        request=RecheckAnimalGiven,
        responses=RecheckShown,
        summary="Say which animal",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Say which animal of the farm it is about; its death or sale then ends it."""
        given = renamed(self.given(RecheckAnimalGiven), animal="animal_id")
        recheck = say_animal(recheck_id=pk, actor=self.member, now=self.now, **given)
        return self.show(rechecks_shown(self).get(pk=recheck.pk), RecheckShown)


class BookAgainGiven(Shape):
    """Who has to go, where only one vet may."""

    vet = Whole(required=False, allow_null=True)


class RecheckBook(Door):
    """The visit of a recheck."""

    @extend_schema(
        operation_id="book_recheck_again",
        request=BookAgainGiven,
        responses=RecheckShown,
        summary="Book the visit again",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Book the visit of a recheck whose booking was cancelled, in the window that it has by now."""
        given = renamed(self.given(BookAgainGiven), vet="vet_id")
        recheck = book_again(recheck_id=pk, actor=self.member, now=self.now, **given)
        return self.show(rechecks_shown(self).get(pk=recheck.pk), RecheckShown)


class EventGiven(Shape):
    """What happened, and when."""

    anchor = Word(choices=[anchor.value for anchor in Anchor])
    happened_at = Instant()


class VisitEvents(Door):
    """What rechecks wait for."""

    @extend_schema(
        operation_id="anchor_happened",
        request=EventGiven,
        responses=RecheckShown(many=True),
        summary="Say that what rechecks wait for has happened",
    )
    @once
    def post(self, request: Request, pk: int) -> Response:
        """Write a birth, a sample sent or another event; answer the rechecks that are due from it."""
        due = anchor_happened(visit_id=pk, actor=self.member, now=self.now, **self.given(EventGiven))
        rows = rechecks_shown(self).filter(pk__in=[row.pk for row in due]).order_by("due_at", "pk")
        return Response(RecheckShown(rows, many=True, context={"door": self}).data)
