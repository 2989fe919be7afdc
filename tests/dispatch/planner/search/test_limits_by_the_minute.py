"""Every limit inside the compiled evaluation, just kept and just passed, a minute apart."""

import pytest

from dispatch.planner.search import board as col
from dispatch.planner.search.board import Board
from tests.dispatch.planner.search.boards import DRIVE, allowed, board, timed

AT_HOME = 2 * DRIVE + 20


@pytest.mark.parametrize(("home_by", "kept"), [(AT_HOME, True), (AT_HOME - 1, False)])
def test_home_on_the_minute(home_by: float, kept: bool) -> None:
    one = board(1, 1)
    one.vet_real[0, col.HOME_BY] = home_by
    assert allowed(one, [0]) is kept


@pytest.mark.parametrize(("exempt", "kept"), [((1, 1), True), ((1, 0), False), ((0, 1), False)])
def test_the_home_limit_binds_unless_all_work_is_signed_for(exempt: tuple[int, int], kept: bool) -> None:
    two = board(2, 1)
    two.vet_real[0, col.HOME_BY] = AT_HOME
    two.whole[:, col.EXEMPT] = exempt
    assert allowed(two, [0, 1]) is kept


@pytest.mark.parametrize(("latest", "kept"), [(10, True), (9, False)])
def test_the_latest_start(latest: float, kept: bool) -> None:
    one = board(1, 1)
    one.real[0, col.LATEST] = latest
    assert allowed(one, [0]) is kept


@pytest.mark.parametrize(("earliest", "start"), [(10, 10), (11, 11)])
def test_the_earliest_start(earliest: float, start: float) -> None:
    one = board(1, 1)
    one.real[0, col.EARLIEST] = earliest
    assert timed(one, [0])[1][0] == start


def pair(gap: float, lead_by: float = col.NEVER, pieces: int = 0) -> Board:
    """The lead is there at minute 10, the second at minute 25."""
    made = board(2, 2, pairs=True, pieces=pieces)
    made.vet_real[1, col.FREE_FROM] = 15
    made.real[:, col.GAP_MAX] = gap
    made.real[0, col.LATEST] = lead_by
    return made


@pytest.mark.parametrize("kit", [0, 1])
@pytest.mark.parametrize(("gap", "lead"), [(15, 10), (14, 11), (0, 25)])
def test_a_second_who_comes_too_late_for_the_gap_holds_the_lead_back(
    gap: float, lead: float, kit: int
) -> None:
    """With kit in the lead's car as without."""
    two = pair(gap, pieces=1)
    two.whole[:, col.NEED], two.pieces[0, 0] = kit, 0
    assert list(timed(two, [0], [1])[1]) == [lead, 25]


@pytest.mark.parametrize(("gap", "kept"), [(15, True), (14, False)])
def test_a_lead_held_back_past_the_latest_start(gap: float, kept: bool) -> None:
    assert allowed(pair(gap, lead_by=10), [0], [1]) is kept


@pytest.mark.parametrize(("least", "second"), [(15, 25), (16, 26)])
def test_the_least_gap_holds_the_second_back(least: float, second: float) -> None:
    two = pair(40)
    two.real[:, col.GAP_MIN] = least
    assert list(timed(two, [0], [1])[1]) == [10, second]


def crossed(first_gap: float, second_gap: float) -> Board:
    """Each vet leads one job and is second at the other's, so that both have to go ahead."""
    made = board(4, 2, pairs=True)
    made.real[:2, col.GAP_MAX] = first_gap
    made.real[2:, col.GAP_MAX] = second_gap
    return made


@pytest.mark.parametrize(("gap", "lead", "second"), [(30, 10, 40), (29, 11, 40), (25, 15, 40)])
def test_who_goes_ahead_waits_for_the_gap_when_the_second_turns_out_late(
    gap: float, lead: float, second: float
) -> None:
    start = timed(crossed(gap, 60), [0, 3], [2, 1])[1]
    assert list(start) == [lead, second, 10, lead + 30]


@pytest.mark.parametrize(("gap", "kept"), [(30, True), (29, False)])
def test_leads_who_hold_each_other_back_for_ever_are_refused(gap: float, kept: bool) -> None:
    assert allowed(crossed(gap, gap), [0, 3], [2, 1]) is kept


def test_two_pairs_that_start_together_cannot_be_met_in_opposite_orders() -> None:
    assert allowed(crossed(0, 0), [0, 2], [1, 3])
    assert not allowed(crossed(0, 0), [0, 3], [2, 1])


def test_one_vet_is_not_both_of_two() -> None:
    assert not allowed(pair(60), [0, 1], [])


@pytest.mark.parametrize(("pinned", "price"), [(0, 520.0), (-1, col.NEVER)])
def test_one_of_two_goes_alone_only_where_the_work_is_already_theirs(pinned: int, price: float) -> None:
    two = pair(0)
    two.whole[0, col.PINNED] = pinned
    two.job_real[0, col.SHORT] = 500.0
    assert timed(two, [0], [])[0] == price


def needing(pieces: int = 0, shelves: int = 0, attendances: int = 1, vets: int = 1) -> Board:
    """Work that needs kit of code 0."""
    made = board(attendances, vets, pieces=pieces, shelves=shelves)
    made.whole[:, col.NEED] = 1
    return made


def shelf(on: Board, count: int = 1, ready: float = 0.0, fetch: float = 5.0) -> Board:
    """A shelf with the kit at the farthest place, ten minutes from everywhere."""
    on.shelf_whole[0] = (len(on.travel) - 1, 0, count)
    on.shelf_real[0] = (ready, fetch)
    return on


@pytest.mark.parametrize(("ready", "kept"), [(15, True), (16, False)])
def test_kit_in_the_car_must_be_ready_by_the_latest_start(ready: float, kept: bool) -> None:
    one = needing(pieces=1)
    one.pieces[0, 0], one.piece_ready[0, 0], one.real[0, col.LATEST] = 0, ready, 15
    assert allowed(one, [0]) is kept


@pytest.mark.parametrize(("code", "kept"), [(0, True), (1, False), (-1, False)])
def test_only_the_kit_asked_for_will_do(code: int, kept: bool) -> None:
    one = needing(pieces=1)
    one.pieces[0, 0] = code
    assert allowed(one, [0]) is kept


@pytest.mark.parametrize(("count", "kept"), [(2, True), (1, False), (0, False)])
def test_a_shelf_gives_no_more_pieces_than_it_has(count: int, kept: bool) -> None:
    two = shelf(needing(shelves=1, attendances=2, vets=2), count)
    assert allowed(two, [0], [1]) is kept


@pytest.mark.parametrize(("used", "count", "kept"), [(0, 1, True), (1, 1, False), (1, 2, True)])
def test_a_piece_used_up_is_gone_for_the_next_job(used: int, count: int, kept: bool) -> None:
    two = shelf(needing(shelves=1, attendances=2), count)
    two.whole[:, col.USED] = used
    assert allowed(two, [0, 1]) is kept


@pytest.mark.parametrize(("ready", "start"), [(15, 25), (16, 26)])
def test_a_shelf_is_ready_no_sooner_than_it_is(ready: float, start: float) -> None:
    assert timed(shelf(needing(shelves=1), ready=ready), [0])[1][0] == start


@pytest.mark.parametrize(("fetch", "kept"), [(5, True), (6, False)])
def test_fetching_takes_its_minutes(fetch: float, kept: bool) -> None:
    one = shelf(needing(shelves=1), fetch=fetch)
    one.real[0, col.LATEST] = 25
    assert allowed(one, [0]) is kept


@pytest.mark.parametrize(("fetched", "start", "price"), [(False, 17, 20.0), (True, 32, 30.0)])
def test_a_vet_who_is_free_later_comes_later_with_the_kit(fetched: bool, start: float, price: float) -> None:
    """Fetching is ten minutes of driving more, and five at the shelf."""
    one = shelf(needing(pieces=1, shelves=1))
    one.vet_real[0, col.FREE_FROM] = 7
    one.pieces[0, 0] = -1 if fetched else 0
    assert (timed(one, [0])[0], timed(one, [0])[1][0]) == (price, start)


@pytest.mark.parametrize(
    ("ready", "starts", "price"),
    [
        ((0, 60), (10, 10), 40.0),
        ((60, 0), (10, 10), 40.0),
        ((12, 60), (12, 12), 40.0),
        ((60, 60), (25, 25), 50.0),
    ],
)
def test_of_two_either_may_bring_the_kit_and_the_sooner_way_is_gone(
    ready: tuple[float, float], starts: tuple[float, float], price: float
) -> None:
    two = shelf(board(2, 2, pairs=True, pieces=1, shelves=1))
    two.whole[:, col.NEED] = 1
    two.pieces[:], two.piece_ready[:, 0] = 0, ready
    cost, start = timed(two, [0], [1])
    assert (cost, *start) == (price, *starts)


@pytest.mark.parametrize(("gap", "starts"), [(0, (10, 10)), (1, (25, 25))])
def test_where_the_second_may_follow_only_the_lead_brings_the_kit(
    gap: float, starts: tuple[float, float]
) -> None:
    two = shelf(board(2, 2, pairs=True, pieces=1, shelves=1))
    two.whole[:, col.NEED], two.real[:, col.GAP_MAX] = 1, gap
    two.pieces[:, 0] = (-1, 0)
    assert tuple(timed(two, [0], [1])[1]) == starts


@pytest.mark.parametrize(("shift_end", "price"), [(AT_HOME, 20.0), (AT_HOME - 1, 27.0)])
def test_minutes_past_the_shift_are_paid_for(shift_end: float, price: float) -> None:
    one = board(1, 1)
    one.prices[col.PAST_SHIFT], one.vet_real[0, col.SHIFT_END] = 7.0, shift_end
    assert timed(one, [0])[0] == price


@pytest.mark.parametrize(("due", "price"), [(10, 20.0), (9, 23.0)])
def test_minutes_after_arrive_by_are_paid_for(due: float, price: float) -> None:
    one = board(1, 1)
    one.real[0, [col.DUE, col.SLOPE]] = due, 3.0
    assert timed(one, [0])[0] == price


@pytest.mark.parametrize(("dear", "price"), [(10, 20.0), (9, 24.0), (8, 28.0)])
def test_minutes_after_the_outcome_worsens_are_dearer(dear: float, price: float) -> None:
    one = board(1, 1)
    one.real[0, [col.DEAR, col.MORE]] = dear, 4.0
    assert timed(one, [0])[0] == price


@pytest.mark.parametrize(("worse", "price"), [(10, 20.0), (9, 120.0)])
def test_the_outcome_worsens_after_its_minute(worse: float, price: float) -> None:
    one = board(1, 1)
    one.real[0, [col.WORSE, col.STEP]] = worse, 100.0
    assert timed(one, [0])[0] == price


@pytest.mark.parametrize(("since", "price"), [(10, 20.0), (9, 22.0)])
def test_minutes_of_waiting_are_paid_for(since: float, price: float) -> None:
    one = board(1, 1)
    one.real[0, [col.SINCE, col.WAITING]] = since, 2.0
    assert timed(one, [0])[0] == price


def test_the_minutes_awake_are_paid_from_leaving_to_being_home() -> None:
    one = board(1, 1, minutes=100)
    one.awake[0] = [0.0] * 10 + [5.0 * minute for minute in range(90)]
    one.real[0, col.EARLIEST] = 30
    assert timed(one, [0])[0] == 20.0 + 5.0 * (60 - 20)


def test_what_may_not_come_first_is_refused() -> None:
    two = board(2, 1)
    two.before[0, 1], two.whole[1, col.ORDERED] = 0, 1
    assert not allowed(two, [0, 1])
    assert allowed(two, [1, 0])


def test_dirt_is_paid_for_by_the_level_and_only_going_down() -> None:
    two = board(2, 1)
    two.prices[col.DIRTY_TO_CLEAN], two.whole[:, col.SOILING] = 100.0, (3, 1)
    assert timed(two, [0, 1])[0] == 30.0 + 200.0
    assert timed(two, [1, 0])[0] == 30.0


@pytest.mark.parametrize(("room", "price"), [(2, 60.0), (1, 130.0), (0, 200.0)])
def test_a_neighbour_takes_no_more_than_there_is_room_for(room: int, price: float) -> None:
    """Each job costs 100 left and 30 handed over."""
    two = board(2, 1, neighbours=1)
    two.job_real[:, col.LEFT], two.handed[:], two.room[0] = 100.0, 30.0, room
    assert timed(two, [])[0] == price


def test_work_under_way_is_as_far_as_it_has_got() -> None:
    one = board(1, 1)
    one.real[0, col.ETA] = 4
    cost, start = timed(one, [0])
    assert (cost, start[0]) == (14.0, 4.0)
