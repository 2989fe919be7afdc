"""The story of what was done, line by line."""

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from rotas.api.door import Door
from rotas.api.lists import Listing
from rotas.api.shape import Instant, Text
from rotas.models import AuditLine, Role


class LineShown(serializers.Serializer):
    """Who did what, when, and why."""

    at = Instant()
    actor = serializers.CharField(source="actor_name")
    verb = serializers.CharField()
    subject = serializers.CharField()
    sentence = serializers.CharField()
    reason = serializers.CharField()


class StoryAsked(Listing):
    """Which part of it."""

    subject = Text(required=False, max_length=60, help_text="Such as call:41, by its id.")
    since = Instant(required=False)


class Story(Door):
    """The practice's story."""

    roles = (Role.RECEPTION,)

    @extend_schema(
        operation_id="story", parameters=[StoryAsked], responses=LineShown(many=True), summary="What was done"
    )
    def get(self, request: Request) -> Response:
        """List what was done, the newest first (reception, manager). Nobody can rewrite it."""
        asked = self.asked(StoryAsked)
        rows = AuditLine.objects.for_practice(self.practice)
        if asked.get("subject"):
            rows = rows.filter(subject=asked["subject"])
        if "since" in asked:
            rows = rows.filter(at__gte=asked["since"])
        return self.page_of(rows.order_by("-at", "-pk"), LineShown)
