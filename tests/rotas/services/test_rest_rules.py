"""Settling the rest rules: managers only, with a reason, once, and in the story."""

from datetime import timedelta

import pytest

from rotas.errors import BadInput, NotAllowed
from rotas.models import AuditLine, Practice, Role
from rotas.rest.rules import Measure
from rotas.services.rest_rules import choose_rest_rules
from rotas.services.worked import rules_of
from tests.factories import NOW, a_member, a_practice

pytestmark = pytest.mark.django_db


@pytest.fixture
def manager():
    return a_member(a_practice(), Role.MANAGER)


def settle(actor, **changes):
    return choose_rest_rules(
        **{"actor": actor, "now": NOW, "reason": "agreed", "set_name": "practice", "reading": "gap"} | changes
    )


def lines(actor):
    return list(AuditLine.objects.for_practice(actor.practice).filter(verb="rest_rules_chosen"))


def test_what_is_settled_is_what_everything_is_judged_by(manager):
    practice = settle(
        manager, figures={"PR_DAILY_REST": 12, "PR_PLANNED_DUTY": 13}, night_rules_replace_daily=True
    )
    rules = rules_of(Practice.objects.get(pk=practice.pk))
    assert rules.one(Measure.DAILY_REST).amount == timedelta(hours=12)
    assert rules.on_call_rest_replaces_daily
    assert practice.rest_figures == {"PR_DAILY_REST": 12}  # 13 h is as published
    (line,) = lines(manager)
    assert line.before["figures"] == {}
    assert line.after["figures"] == {"PR_DAILY_REST": 12}


def test_the_same_again_writes_nothing(manager):
    settle(manager, reading="window24")
    settle(manager, reading="window24")
    assert len(lines(manager)) == 1


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"reason": "  "}, "reason"),
        ({"reading": "backwards"}, "reading"),
        ({"set_name": "moon"}, "set"),
        ({"figures": {"PR_NOTHING": 3}}, "PR_NOTHING"),
        ({"figures": {"PR_DAILY_REST": 10}}, "PR_DAILY_REST"),
    ],
)
def test_what_cannot_be_meant_is_refused_by_its_field_and_nothing_is_written(manager, changes, field):
    with pytest.raises(BadInput) as refused:
        settle(manager, **changes)
    assert refused.value.facts["field"] == field
    practice = Practice.objects.get(pk=manager.practice_id)
    assert (practice.rest_rule_set, practice.daily_rest_reading) == ("practice", "gap")
    assert lines(manager) == []


def test_only_a_manager_may(manager):
    vet = a_member(manager.practice, Role.VET)
    with pytest.raises(NotAllowed):
        settle(vet, reading="window24")
    assert Practice.objects.get(pk=manager.practice_id).daily_rest_reading == "gap"


def test_another_practice_keeps_its_own(manager):
    other = a_practice()
    settle(manager, reading="window24", figures={"PR_DAILY_REST": 12})
    assert Practice.objects.get(pk=other.pk).daily_rest_reading == "gap"
    assert rules_of(other).one(Measure.DAILY_REST).amount == timedelta(hours=11)


def test_a_name_that_no_set_has_falls_back_to_our_own_limits():
    assert rules_of(a_practice(rest_rule_set="gone")).name == "practice"
