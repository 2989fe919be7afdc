"""The rest rules that the practice goes by, each with its article, and what a manager settles of them."""

from typing import Any

from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from rotas.api.door import Door, once
from rotas.api.shape import Flag, Shape, Text, Word, renamed
from rotas.models import Practice
from rotas.rest.rules import TITLES, Reading
from rotas.rest.told import judged_by
from rotas.services.rest_rules import choose_rest_rules
from rotas.services.worked import choice_of, rules_of

SETS = list(TITLES)
READINGS = [reading.value for reading in Reading]
MOST = 50


@extend_schema_field({"type": "object", "additionalProperties": {"type": "number"}, "maxProperties": MOST})
class Figures(serializers.Field):
    """Rule ids with figures. Which rules take one, and which, is the rest core's to say."""

    default_error_messages = {
        "invalid": "Send an object of rule ids, each with its figure.",
        "many": "At most {most} figures. Send only those that differ from the published ones.",
        "kind": "{rule}: send a number without quotes.",
    }

    def to_internal_value(self, data: Any) -> dict[str, float]:
        """Return the figures as given."""
        if not isinstance(data, dict):
            self.fail("invalid")
        if len(data) > MOST:
            self.fail("many", most=MOST)
        for rule, value in data.items():
            if isinstance(value, bool) or not isinstance(value, int | float) or abs(value) > 10**6:
                self.fail("kind", rule=rule[:60])
        return data

    def to_representation(self, value: Any) -> Any:
        """Return them as they are kept."""
        return value


class RuleShown(serializers.Serializer):
    """One rule, by its id and by the name that sentences give it.

    `value` is in `unit`; `sense` says whether it is a least (min) or a most (max).
    """

    rule = serializers.CharField(source="rule_id")
    name = serializers.CharField()
    statement = serializers.CharField()
    sense = serializers.CharField()
    value = serializers.FloatField(allow_null=True)
    unit = serializers.CharField()
    window = serializers.CharField(source="window_words")
    provision = serializers.CharField()
    note = serializers.CharField()
    mark = serializers.CharField()
    source = serializers.CharField()


class RestRulesShown(serializers.Serializer):
    """What everything of the practice is judged by; `told` says it in a sentence."""

    set = serializers.ChoiceField(choices=SETS)
    reading = serializers.ChoiceField(choices=READINGS)
    standby_in_full = serializers.BooleanField()
    night_rules_replace_daily = serializers.BooleanField()
    figures = serializers.DictField(child=serializers.FloatField())
    told = serializers.CharField()
    rules = RuleShown(many=True)


class RestRulesGiven(Shape):
    """What is settled, whole: a figure that is not sent is as published."""

    set = Word(choices=SETS)
    reading = Word(choices=READINGS, help_text="Daily rest between duties, or inside 24 hours.")
    standby_in_full = Flag(default=False, help_text="On call at home counts in full.")
    night_rules_replace_daily = Flag(
        default=False, help_text="A night on call at home is judged by the on-call rules, not by daily rest."
    )
    figures = Figures(default=dict, help_text="Own figures by rule id, in the rule's unit.")
    reason = Text(help_text="Why; it stands in the story.")


class RestRules(Door):
    """The rest rules of the practice."""

    @extend_schema(operation_id="rest_rules", responses=RestRulesShown, summary="The rest rules gone by")
    def get(self, request: Request) -> Response:
        """Show the rest rules that the practice goes by, every row with its article and source."""
        return self.show(_shown(self.practice), RestRulesShown)

    @extend_schema(
        operation_id="settle_rest_rules",
        request=RestRulesGiven,
        responses=RestRulesShown,
        summary="Settle the rest rules",
    )
    @once
    def post(self, request: Request) -> Response:
        """Settle the rule set, how daily rest is read, and the practice's own figures (manager)."""
        given = renamed(self.given(RestRulesGiven), set="set_name")
        practice = choose_rest_rules(actor=self.member, now=self.now, **given)
        return self.show(_shown(practice), RestRulesShown)


def _shown(practice: Practice) -> dict[str, Any]:
    rules, choice = rules_of(practice), choice_of(practice)
    return {
        "set": rules.name,
        "reading": choice.reading.value,
        "standby_in_full": choice.standby_in_full,
        "night_rules_replace_daily": choice.on_call_rest_replaces_daily,
        "figures": dict(choice.figures),
        "told": judged_by(rules, choice.reading),
        "rules": rules.rules,
    }
