"""The page of the rest rules: everybody reads, a manager settles, a refusal keeps what was typed."""

from rotas.models import AuditLine, Practice, Role
from rotas.services.worked import rules_of
from tests.pages.forms import alerts_of
from tests.pages.site import at

GOOD = {
    "set": "practice",
    "reading": "window24",
    "standby_in_full": "yes",
    "PR_DAILY_REST": "12",
    "PR_PLANNED_DUTY": "14",
    "PR_NIGHT_BEFORE_LEAVE": "0",
    "reason": "agreed at the meeting",
}


def fresh(evening):
    return Practice.objects.get(pk=evening.world.practice.pk)


def test_every_row_stands_there_with_its_article_its_figure_and_its_mark(evening):
    shown = at(evening.member(Role.VET)).get("/rest/rules/").content.decode()
    assert "Unbroken rest in a night on call" in shown
    assert "at least 5 h" in shown
    assert "WTR 1998 reg 6" in shown
    assert "Common practice, no source." in shown
    assert "Matzak, C-518/15" in shown
    assert "Settle the rest rules" not in shown


def test_a_manager_settles_them_and_the_story_says_so(evening):
    answer = at(evening.member(Role.MANAGER)).post("/rest/rules/", GOOD)
    assert answer.status_code in (204, 302)
    practice = fresh(evening)
    assert (practice.rest_rule_set, practice.daily_rest_reading) == ("practice", "window24")
    assert (practice.standby_in_full, practice.night_rules_replace_daily) == (True, False)
    assert practice.rest_figures == {"PR_DAILY_REST": 12, "PR_PLANNED_DUTY": 14}
    line = AuditLine.objects.for_practice(practice).get(verb="rest_rules_chosen")
    assert line.reason == "agreed at the meeting"
    assert "Own figures: daily rest 12; longest planned duty 14." in line.sentence
    shown = at(evening.member(Role.MANAGER)).get("/rest/rules/").content.decode()
    assert "at least 12 h" in shown
    assert "as published 11" in shown
    assert "daily rest of 12 h is read in 24 hours" in shown


def test_a_figure_laxer_than_the_law_is_refused_and_nothing_is_written(evening):
    before = fresh(evening)
    answer = at(evening.member(Role.MANAGER)).post("/rest/rules/", GOOD | {"PR_DAILY_REST": "10.5"})
    assert answer.status_code == 400
    shown = answer.content.decode()
    assert "the law says at least 11 h; it may only be stricter" in alerts_of(shown)[0]
    assert 'value="10.5"' in shown
    assert rules_of(fresh(evening)) == rules_of(before)


def test_a_published_set_is_gone_by_as_it_is(evening):
    browser = at(evening.member(Role.MANAGER))
    browser.post("/rest/rules/", GOOD)
    browser.post("/rest/rules/", {"set": "gb", "reading": "gap", "reason": "back to the law"})
    assert fresh(evening).rest_rule_set == "gb"
    assert rules_of(fresh(evening)).name == "gb"
    assert "Own figures" not in browser.get("/rest/rules/").content.decode()
