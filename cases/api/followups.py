"""The follow-up table: which procedure owes which checks."""

from typing import Any

from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from cases.followups import Importance, Table, Template, Unit, Who, table_now, tables
from rotas.api.door import Door
from rotas.api.lists import Listing
from rotas.api.shape import Word


class StepShown(serializers.Serializer):
    """One check. `slack_h`: hours either side of its due time, after which it is missed for good."""

    number = serializers.IntegerField()
    offset = serializers.IntegerField()
    unit = serializers.ChoiceField(choices=[unit.value for unit in Unit], source="unit.value")
    anchor = serializers.CharField(source="anchor.value")
    who = serializers.ChoiceField(choices=[who.value for who in Who], source="who.value")
    action = serializers.CharField()
    importance = serializers.ChoiceField(
        choices=[importance.value for importance in Importance], source="importance.value"
    )
    escalate_if = serializers.CharField()
    slack_h = serializers.IntegerField(allow_null=True)
    source_keys = serializers.ListField(child=serializers.CharField())


class TemplateShown(serializers.Serializer):
    """One procedure and its checks, in the order of the table."""

    code = serializers.CharField()
    procedure = serializers.CharField()
    version = serializers.SerializerMethodField()
    steps = StepShown(many=True)

    @extend_schema_field(serializers.CharField())
    def get_version(self, template: Template) -> Any:
        """Return the version of the table."""
        return self.context["version"]


class FollowupsAsked(Listing):
    """Which version."""

    version = Word(required=False, choices=sorted(tables()), help_text="The newest, unless said.")


class Followups(Door):
    """The follow-up table."""

    @extend_schema(
        operation_id="followups",
        parameters=[FollowupsAsked],
        responses=TemplateShown(many=True),
        summary="The follow-up table",
    )
    def get(self, request: Request) -> Response:
        """List what each procedure owes. What is owed already keeps the version that it came from."""
        version = self.asked(FollowupsAsked).get("version")
        table: Table = tables()[version] if version else table_now()
        pages = self.pagination_class()
        page = pages.paginate_queryset(list(table.templates.values()), self.request, view=self)
        shown = TemplateShown(page, many=True, context={"version": table.version})
        return pages.get_paginated_response(shown.data)
