"""The draft, the levelling and the stretches that a rota is built by."""

from dataclasses import replace
from datetime import date, time, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from rotas.builder.asking import problem_of
from rotas.builder.build import build
from rotas.builder.cost import cost_of
from rotas.builder.counts import NIGHTS, counts, fair, points, quarters
from rotas.builder.cover import slots
from rotas.builder.drafting import drafted
from rotas.builder.grid import Grid
from rotas.builder.levelling import levelled
from rotas.builder.question import DAY, FIRST, SECOND, CoverPattern, Planned
from rotas.builder.roster import Roster
from rotas.builder.sample import sample_question
from rotas.builder.stretches import stretches
from rotas.builder.windows import windows
from rotas.rest.season import Season
from tests.rotas.builder.practice.fortnight import fortnight, slot_of, with_person

SUMMER = date(2027, 6, 7)
EVERY_DAY = frozenset(range(7))


def nights(weeks):
    return Grid(sample_question(SUMMER, weeks, with_leave=False, day_vets=0))


def test_a_draft_covers_every_night_and_breaks_nothing():
    grid = Grid(sample_question(SUMMER, 3, with_leave=False))
    roster = drafted(grid, problem_of(grid))
    assert cost_of(problem_of(grid), roster).broken == ()
    assert len(grid.duties(roster)) == len(slots(grid.question))


@settings(max_examples=5)
@given(seed=st.integers(0, 1000))
def test_levelling_never_makes_a_roster_dearer_and_repeats(seed):
    grid = nights(1)
    problem = problem_of(grid)
    start = drafted(grid, problem)
    found = levelled(grid, problem, start, 60, seed)
    assert cost_of(problem, found).total <= cost_of(problem, start).total
    assert cost_of(problem, found).broken == ()
    assert found == levelled(grid, problem, start, 60, seed)


def test_levelling_without_time_gives_back_what_it_was_given():
    grid = nights(1)
    problem = problem_of(grid)
    start = drafted(grid, problem)
    assert levelled(grid, problem, start, 0) == start


def test_shares_too_far_apart_are_given_a_window_of_one_point():
    """V3 has every first night: everybody's window is a point wide and near their share."""
    grid = nights(2)
    roster = Roster({("V3", day): "first" for day in grid.new})
    duties = grid.duties(roster)
    found = {total.name: total for total in windows(grid, duties)}
    due = fair(grid.question, (duty.slot for duty in duties))[NIGHTS]
    assert {name.split()[1] for name in found} == {"nights", "weekends"}
    for person, points_due in due.items():
        window = found[f"window nights {person}"]
        assert window.most - window.least <= 4
        assert window.least <= 4 * points_due + 1
        assert 4 * points_due - 1 <= window.most + 4
    even = build(grid.question, seconds=4)
    assert not [total for total in windows(grid, even.duties) if total.name.startswith("window nights")]


def test_stretches_follow_one_another_and_look_ahead():
    parts = list(stretches(sample_question(weeks=26)))
    kept = [part.kept_until for part in parts]
    assert [part.first for part in parts[1:]] == [day + timedelta(days=1) for day in kept[:-1]]
    assert all(part.last == part.kept_until + timedelta(weeks=1) for part in parts[:-1])
    assert kept[-1] == parts[-1].last == sample_question(weeks=26).last_day


def test_points_are_those_of_the_trade():
    """[cp] second at half, a night of the lambing season half as much again, double at Christmas."""
    question = replace(fortnight()[0], first_day=date(2026, 12, 20), last_day=date(2027, 3, 31))
    first, second = (slot_of(question, date(2027, 3, 3), role) for role in (FIRST, SECOND))
    assert (quarters(question, first), quarters(question, second)) == ({"nights": 6}, {"nights": 3})
    christmas = slot_of(question, date(2026, 12, 25), FIRST)
    assert quarters(question, christmas) == {"nights": 4, "weekends": 4, "bank_holidays": 8}
    thursday = slot_of(question, date(2027, 1, 14), FIRST)
    assert quarters(question, thursday) == {"nights": 4}


def test_the_hard_nights_are_those_of_the_practices_own_spring():
    question, _ = fortnight()
    slot = slot_of(question, question.first_day, FIRST)
    day = (slot.day.month, slot.day.day)
    inside = replace(question, rules=replace(question.rules, spring=Season(day, day)))
    outside = replace(question, rules=replace(question.rules, spring=Season((12, 1), (12, 31))))
    assert [quarters(each, slot)["nights"] for each in (inside, outside)] == [6, 4]


def test_fair_shares_are_pro_rata_and_leave_builds_no_debt():
    """[cp] by contract, from the start date, without the days of leave; together all there is."""
    question = sample_question(SUMMER, 2, with_leave=False, day_vets=0)
    plain = fair(question, slots(question))[NIGHTS]
    assert sum(plain.values()) == points(question, NIGHTS, slots(question)) == 14 * 1.5
    assert round(plain["V6"] / plain["V3"], 6) == 0.6
    assert "V9" not in plain
    away = with_person(question, "V3", leave=frozenset(SUMMER + timedelta(days=n) for n in range(7)))
    assert round(fair(away, slots(away))[NIGHTS]["V3"] / fair(away, slots(away))[NIGHTS]["V2"], 6) == 0.5
    new = with_person(question, "V3", started_on=SUMMER + timedelta(days=7))
    assert fair(new, slots(new))[NIGHTS] == fair(away, slots(away))[NIGHTS]


def test_duties_taken_over_count_twice_only_where_points_are_shared():
    question, duties = fortnight()
    plain, doubled = counts(question, duties), counts(question, duties, duties[:1])
    who = duties[0].person
    assert doubled[who]["nights"] - plain[who]["nights"] == quarters(question, duties[0].slot)["nights"] / 4
    assert doubled[who]["first_nights"] == plain[who]["first_nights"]


def test_nights_at_the_workplace_and_day_work_leave_eleven_hours_between():
    """[S38, S39] dedicated twelve-hour nights: nobody works the day before or after one."""
    start = date(2027, 6, 7)
    plain = sample_question(start, 2, with_leave=False, day_vets=0)
    twelve = (
        CoverPattern(FIRST, EVERY_DAY, time(20), time(8), at_workplace=True),
        CoverPattern(DAY, EVERY_DAY, time(8), time(20), wanted=2),
    )
    question = replace(plain, cover=twelve, rules=replace(plain.rules, solo_every_night=frozenset()))
    question = with_person(question, "V8", needs_named_second=frozenset())
    answer = build(question, seconds=6)
    assert answer.broken == ()
    assert answer.gaps == ()
    assert len(answer.duties) == 14 * 3
    by_day = {(duty.person, duty.slot.day): duty.slot.role for duty in answer.duties}
    for (person, day), role in by_day.items():
        if role == FIRST:
            assert by_day.get((person, day + timedelta(days=1))) != DAY


def test_two_sites_have_their_own_day_vets():
    question = sample_question(SUMMER, 1, with_leave=False, day_vets=0)
    sites = tuple(
        CoverPattern(DAY, frozenset(range(5)), time(8), time(18), wanted=2, site=site)
        for site in ("north", "south")
    )
    answer = build(replace(question, cover=(*question.cover, *sites)), seconds=4)
    assert answer.gaps == ()
    assert answer.broken == ()
    held = [duty for duty in answer.duties if duty.slot.role == DAY]
    assert sorted({duty.slot.site for duty in held}) == ["north", "south"]
    assert len({(duty.person, duty.slot.day) for duty in held}) == len(held) == 20
    assert all(isinstance(duty, Planned) for duty in held)
