"""Every rule has a name in plain words, and no sentence shows the id of one."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rotas.builder.question import RotaRules
from rotas.rest.breaches import breaches
from rotas.rest.choices import FigureRefused, require_figure
from rotas.rest.intervals import Duty, DutyKind, Span
from rotas.rest.limits import vet_limits
from rotas.rest.planned import planned_breaches
from rotas.rest.rules import TITLES, Reading, all_rules, rule_named, rule_set

LONDON = ZoneInfo("Europe/London")
MONDAY = datetime(2025, 6, 2, tzinfo=UTC)
HOUR = timedelta(hours=1)
IDS = tuple(all_rules())


def has_id(sentence: str) -> bool:
    return any(rule_id in sentence for rule_id in IDS)


def test_every_rule_has_a_name_of_words():
    assert len(IDS) == 54
    for rule in all_rules().values():
        assert rule.name
        assert "_" not in rule.name
        assert not has_id(rule.name)
        assert rule.name in rule.cited
        assert not has_id(rule.cited)


@pytest.mark.parametrize("name", TITLES)
def test_no_two_rules_that_a_practice_goes_by_share_a_name(name):
    names = [rule.name for rule in RotaRules(rule_set(name)).judged_by.rules]
    assert len(names) > 1 or name == "ontario"
    assert len(set(names)) == len(names)


def test_what_a_signature_is_kept_under_has_a_name_too():
    assert rule_named("PR_WEEK_AVG") == "average working week"
    assert rule_named("SHIFT_END") == "end of the shift"
    assert rule_named("an older word") == "an older word"


def test_a_refused_figure_names_its_rule_in_words():
    with pytest.raises(FigureRefused) as refused:
        require_figure(all_rules()["PR_MORNING_OFF"], 3)
    assert str(refused.value).startswith("The rule “morning off after a broken night” has no figure")


@st.composite
def hard_weeks(draw):
    """Long work and long stand-by over three weeks, so that every kind of limit is passed."""
    one = st.tuples(st.integers(0, 20 * 24), st.integers(6, 60), st.sampled_from(list(DutyKind)))
    return [
        Duty(MONDAY + at * HOUR, MONDAY + (at + long) * HOUR, kind)
        for at, long, kind in draw(st.lists(one, min_size=6, max_size=20))
    ]


@settings(deadline=None, max_examples=25)
@given(hard_weeks(), st.sampled_from(list(TITLES)), st.sampled_from(list(Reading)))
def test_no_sentence_shows_an_id(duties, name, reading):
    rules = rule_set(name)
    told = [each.sentence for each in breaches(duties, rules, LONDON, reading, night_worker=True)]
    limits = vet_limits(duties, rules, LONDON, reading, now=MONDAY + 200 * HOUR)
    told += [each.reason for each in limits.limits]
    rota = Span(MONDAY, MONDAY + timedelta(days=25))
    standby = [duty.span for duty in duties if duty.kind == DutyKind.AT_HOME]
    leave = (date(2025, 6, 10),)
    design = RotaRules(rules, reading).judged_by
    found = planned_breaches(duties, design, LONDON, reading, rota=rota, first_on=standby, leave=leave)
    told += [each.sentence for each in found]
    assert not [sentence for sentence in told if has_id(sentence)]
