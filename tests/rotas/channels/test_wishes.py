"""By which address somebody is told: their wish, if a line stands for it, else the next that reaches them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rotas.channels.wishes import BOTH, CALL, Address, Chosen, as_wished

MAIL, TEXT = Address("email", "hobb@farm.example"), Address("text", "+441632960044")
NO_MAIL, NO_TEXT = Address("email", ""), Address("text", "")
LINES = frozenset({"email", "text"})
MAIL_ALONE = frozenset({"email"})

wishes = st.sampled_from(["", "email", "text", BOTH, CALL])
addresses = st.lists(st.sampled_from([MAIL, TEXT, NO_MAIL, NO_TEXT, Address("push", "p")]), max_size=5)
lines = st.frozensets(st.sampled_from(["email", "text", "push"]))


@pytest.mark.parametrize(
    ("wish", "known", "usable", "chosen"),
    [
        ("", [MAIL, TEXT], LINES, [Chosen(MAIL, TEXT)]),
        ("email", [MAIL, TEXT], LINES, [Chosen(MAIL, TEXT)]),
        ("text", [MAIL, TEXT], LINES, [Chosen(TEXT, MAIL)]),
        ("text", [MAIL, TEXT], MAIL_ALONE, [Chosen(MAIL)]),
        ("text", [MAIL, NO_TEXT], LINES, [Chosen(MAIL)]),
        ("email", [NO_MAIL, TEXT], LINES, [Chosen(TEXT)]),
        ("email", [NO_MAIL, TEXT], MAIL_ALONE, []),
        ("text", [NO_MAIL, TEXT], MAIL_ALONE, []),
        (BOTH, [MAIL, TEXT], LINES, [Chosen(MAIL), Chosen(TEXT)]),
        (BOTH, [MAIL, TEXT], MAIL_ALONE, [Chosen(MAIL)]),
        (CALL, [MAIL, TEXT], LINES, []),
        ("", [NO_MAIL, NO_TEXT], LINES, []),
        ("", [MAIL, TEXT], frozenset(), []),
    ],
)
def test_the_wish_goes_first_then_the_next_way_that_reaches_them(wish, known, usable, chosen):
    assert as_wished(wish, known, usable) == chosen


@given(wishes, addresses, lines)
def test_nothing_goes_where_no_line_stands_and_nothing_twice_to_one_address(wish, known, usable):
    chosen = as_wished(wish, known, usable)
    told = [each for pair in chosen for each in pair if each is not None]
    assert all(each.address and each.channel in usable for each in told)
    assert len(set(told)) == len(told)


@given(wishes.filter(lambda wish: wish != CALL), addresses, lines)
def test_whoever_any_line_reaches_is_told_and_never_left_to_be_rung(wish, known, usable):
    reachable = any(each.address and each.channel in usable for each in known)
    assert bool(as_wished(wish, known, usable)) == reachable


@given(st.sampled_from(["email", "text"]), addresses, lines)
def test_a_wish_that_can_be_met_is_met(wish, known, usable):
    can = any(each.address and each.channel == wish and wish in usable for each in known)
    chosen = as_wished(wish, known, usable)
    assert can == (bool(chosen) and chosen[0].first.channel == wish)


@given(wishes, addresses, lines)
def test_the_other_way_is_another_channel(wish, known, usable):
    assert all(each.other is None or each.other.channel != each.first.channel
               for each in as_wished(wish, known, usable))  # fmt: skip
