"""Cover that nobody may fill: named, with who was asked about, which rule stops each, and the ways out."""

from dataclasses import replace
from datetime import date, timedelta

from rotas.builder.build import build
from rotas.builder.gaps import find_gaps, missing
from rotas.builder.question import FIRST, Fixed, Planned, Wish
from rotas.builder.sample import sample_question
from tests.rotas.builder.practice.fortnight import MONDAY, fortnight, slot_of, with_person

WEDNESDAY = MONDAY + timedelta(days=2)


def without(question, duties, day, role):
    """The duties without one, and its slot."""
    slot = slot_of(question, day, role)
    return tuple(duty for duty in duties if duty.slot != slot), slot


def only_gap(question, duties):
    (gap,) = find_gaps(question, duties)
    return gap


def test_a_whole_rota_has_no_gap():
    assert find_gaps(*fortnight()) == ()


def test_a_gap_names_the_slot_and_whom_to_ask_first():
    question, duties = fortnight()
    left, slot = without(question, duties, WEDNESDAY, FIRST)
    gap = only_gap(question, left)
    assert gap.slot == slot
    assert gap.reason.startswith("Nobody may be first on call on Wed 3 Mar.")
    assert gap.ways_out[0].kind == "ask"
    assert gap.ways_out[-1].kind == "neighbour"
    assert [way.cost for way in gap.ways_out] == sorted(way.cost for way in gap.ways_out)


def test_a_part_of_a_night_is_a_gap_of_its_hours():
    question, duties = fortnight()
    left, slot = without(question, duties, WEDNESDAY, FIRST)
    half = slot.start + timedelta(hours=5)
    part = Planned("V4", replace(slot, end=half))
    assert list(missing(question, (*left, part))) == [replace(slot, start=half)]


def test_a_day_off_that_was_promised_is_the_wish_to_drop():
    question, duties = fortnight()
    left, _ = without(question, duties, WEDNESDAY, FIRST)
    everyone = tuple(Wish(person.id, WEDNESDAY, firm=True) for person in question.people if person.id != "V2")
    gap = only_gap(replace(question, wishes=everyone), left)
    assert gap.ways_out[0].kind == "wish"
    assert "promised" in gap.ways_out[0].sentence
    assert {broken.rule for broken in gap.stopped_by} >= {"firm_wish"}


def test_an_exception_is_offered_for_the_practices_own_limits_and_never_for_the_law():
    """Design limits are common practice [cp] and may be set aside by a named person; the law may not."""
    question, duties = fortnight()
    left, _ = without(question, duties, MONDAY + timedelta(days=6), FIRST)
    away = frozenset({MONDAY + timedelta(days=6)})
    for person in ("V2", "V3", "V6", "V7", "V8", "L1"):
        question = with_person(question, person, leave=away)
    gap = only_gap(question, left)
    asked = {way.person: way.kind for way in gap.ways_out}
    assert asked["V4"] == "exception"  # one weekend in three
    assert asked["V2"] == "leave"
    assert "V9" not in asked  # not available: nobody asks why
    assert "V1" not in asked  # second on call the same night
    sentence = next(way.sentence for way in gap.ways_out if way.person == "V4")
    assert "one weekend" in sentence or "weekends first on call" in sentence


def test_a_new_graduate_is_never_asked_to_be_alone():
    """[cp] a named second is there for their safety, and is no limit to set aside."""
    question, duties = fortnight()
    left, slot = without(question, duties, WEDNESDAY, "second")
    left, _ = without(question, left, WEDNESDAY, FIRST)
    first = next(gap for gap in find_gaps(question, (*left, Planned("V5", slot))) if gap.slot.role == FIRST)
    assert "V8" not in {way.person for way in first.ways_out}
    assert "named_second" in {broken.rule for broken in first.stopped_by}


def test_who_agreed_to_single_nights_may_be_asked_for_one_more():
    question, duties = fortnight()
    left, _ = without(question, duties, WEDNESDAY, FIRST)
    assert {"V1": "exception"}.items() <= {
        w.person: w.kind for w in only_gap(question, left).ways_out
    }.items()


def test_rest_law_stands_against_everybody():
    question, duties = fortnight()
    slot = slot_of(question, WEDNESDAY, FIRST)
    there = replace(slot, at_workplace=True)
    cover = tuple(replace(pattern, at_workplace=pattern.role == FIRST) for pattern in question.cover)
    left = tuple(duty for duty in duties if duty.slot != slot)
    gaps = find_gaps(replace(question, cover=cover), left)
    gap = next(gap for gap in gaps if gap.slot == there)
    assert "PR_DAILY_REST" in {broken.rule for broken in gap.stopped_by} or gap.stopped_by
    law = {b.person for b in gap.stopped_by if b.rule in ("PR_DAILY_REST", "PR_DUTY_SPAN")}
    assert not law & {way.person for way in gap.ways_out if way.kind in ("ask", "exception")}


def test_what_was_agreed_is_told_where_nobody_may_do_it():
    question, duties = fortnight()
    left, slot = without(question, duties, WEDNESDAY, FIRST)
    gap = only_gap(replace(question, fixed=(Fixed("V9", slot, "agreed in a swap"),)), left)
    assert gap.slot == slot


def test_a_skill_that_nobody_brings_is_a_gap_though_the_night_is_filled():
    """[cp] somebody on call does a caesarean of a cow alone, every night."""
    question, duties = fortnight()
    left, slot = without(question, duties, WEDNESDAY, "second")
    left, first = without(question, left, WEDNESDAY, FIRST)
    gap = only_gap(question, (*left, Planned("V7", first), Planned("V5", slot)))
    assert gap.missing == "caesar_cattle"
    assert "caesar_cattle" in gap.reason
    assert {way.person for way in gap.ways_out} & {"V2", "V3", "V4"}


def test_a_week_in_which_everybody_is_away_is_told_night_by_night():
    start = date(2027, 6, 7)
    question = sample_question(start, 1, with_leave=False, day_vets=0)
    night = start + timedelta(days=2)
    for person in question.people:
        question = with_person(question, person.id, leave=frozenset({night}))
    answer = build(question, seconds=2)
    eve = night - timedelta(days=1)  # nobody is first on call on the night before leave [cp]
    ways = {(gap.slot.day, gap.slot.role): gap.ways_out[0].kind for gap in answer.gaps}
    assert ways == {(eve, "first"): "exception", (night, "first"): "leave", (night, "second"): "leave"}
    assert "3 gaps" in answer.sentence
    assert {broken.rule for broken in answer.broken} == {"cover"}
