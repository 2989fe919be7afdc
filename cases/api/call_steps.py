"""What happens to a call beside a visit, one endpoint each."""

from collections.abc import Callable
from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from cases.access import call_in
from cases.api.answers import Answers, pointed_at
from cases.api.calls import CallShown, calls_shown
from cases.models import Urgency
from cases.services.call_ends import cancel_call, defer_call, give_advice, hand_over_call, resume_call
from cases.services.triage_again import reassess, say_farm
from rotas.api.door import Door, once
from rotas.api.shape import Flag, Instant, Nothing, Shape, Text, Whole, Word, renamed


class DeferGiven(Shape):
    """Until when it can wait, and why."""

    until = Instant()
    reason = Text()
    agreed_by_vet = Whole(required=False, allow_null=True, help_text="Past arrive-by a vet has to agree.")


class HandOverGiven(Shape):
    """Who takes it."""

    neighbour = Text(required=False, max_length=120, help_text="Name of the other practice, or its id below.")
    neighbour_id = Whole(required=False, allow_null=True)
    accepted_by = Text(max_length=120, help_text="Who accepted it, by name.")
    told = Text(required=False, help_text="What has been given, who tells the client, who pays.")


class AdviceGiven(Shape):
    """What a vet advised by telephone."""

    vet = Whole()
    minutes = Whole(max_value=240, help_text="How long it took; it counts as duty.")
    outcome = Text()
    ends_call = Flag(required=False, help_text="False: the visit is still wanted.")


class ReasonGiven(Shape):
    """Why."""

    reason = Text()


class ReassessGiven(Shape):
    """What was asked anew; answers left out stand as they are."""

    answers = Answers(required=False)
    onset_at = Instant(required=False, allow_null=True)
    lowered_by_vet = Whole(required=False, allow_null=True, help_text="The vet who puts a name to it.")
    lower_to = Word(required=False, allow_null=True, choices=Urgency.choices)
    till_morning = Flag(required=False)
    reason = Text(required=False)


class FarmGiven(Shape):
    """Which farm it is."""

    location = Whole()


def step(
    name: str, summary: str, shape: type[Shape], service: Callable[..., Any], **names: str
) -> type[Door]:
    """Return the endpoint that hands one thing that happens to a call to its service."""

    class Step(Door):
        __doc__ = summary

        @extend_schema(operation_id=name, request=shape, responses=CallShown, summary=summary)
        @once
        def post(self, request: Request, pk: int) -> Response:
            given = renamed(self.given(shape), **names)
            with pointed_at(given):
                service(call_id=call_in(self.practice, pk).pk, actor=self.member, now=self.now, **given)
            return self.show(calls_shown(self).get(pk=pk), CallShown)

    return Step


Defer = step("defer_call", "Leave a call for later", DeferGiven, defer_call, agreed_by_vet="agreed_by_vet_id")
Resume = step("resume_call", "Let a call wait again now", Nothing, resume_call)
HandOver = step("hand_over_call", "Hand a call to another practice", HandOverGiven, hand_over_call)
Advise = step("advise", "Write that a vet advised by telephone", AdviceGiven, give_advice, vet="vet_id")
Cancel = step("cancel_call", "End a call that nobody needs any more", ReasonGiven, cancel_call)
Reassess = step(
    "reassess", "Assess a call again", ReassessGiven, reassess, lowered_by_vet="lowered_by_vet_id"
)
SayFarm = step("say_farm", "Say which farm a call is about", FarmGiven, say_farm, location="location_id")
