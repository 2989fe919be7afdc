"""When a farm is told: pairs one minute apart at each limit, and across the days on which clocks change."""

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from cases.reminding import times
from cases.reminding.collections import next_collection
from cases.reminding.ringing import ring_at, rings_tonight
from cases.reminding.stakes import Stake, stake_of
from cases.reminding.worth import Kind, Standing, judge
from cases.withdrawal.herd import Milking
from rotas.quiet import Quiet

LONDON = ZoneInfo("Europe/London")
QUIET = Quiet(LONDON, time(20), time(6))
NEVER = Quiet(LONDON, time(0), time(0))
EARLY = Quiet(LONDON, time(18), time(8))
LONG_AGO = datetime(2026, 1, 1, tzinfo=UTC)
MINUTE, HOUR, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)


def at(day: str, clock: str) -> datetime:
    """Return a moment of 2026 on London's clock, such as ("03-28", "17:00")."""
    return datetime.fromisoformat(f"2026-{day}T{clock}").replace(tzinfo=LONDON).astimezone(UTC)


@pytest.mark.parametrize(
    ("quiet", "milking", "told"),
    [
        (QUIET, at("02-18", "07:00"), at("02-18", "06:00")),
        (QUIET, at("02-18", "06:59"), at("02-17", "19:00")),
        (QUIET, at("02-18", "22:59"), at("02-18", "19:59")),
        (QUIET, at("02-18", "23:00"), at("02-18", "19:00")),
        (EARLY, at("02-18", "09:00"), at("02-18", "08:00")),
        (EARLY, at("02-18", "08:59"), at("02-17", "17:00")),
        (NEVER, at("02-18", "05:30"), at("02-17", "19:00")),
        (NEVER, at("02-18", "07:00"), at("02-18", "06:00")),
    ],
)
def test_an_early_milking_is_told_the_evening_before_and_never_in_the_night(quiet, milking, told):
    assert times.before_milking(milking, quiet, LONG_AGO) == told


@pytest.mark.parametrize(
    ("milking", "told"),
    [
        (at("03-29", "05:30"), at("03-28", "19:00")),  # the night in which an hour is missing
        (at("03-29", "16:30"), at("03-29", "14:30")),
        (at("10-25", "05:30"), at("10-24", "19:00")),  # the night with an hour more
        (at("10-25", "16:30"), at("10-25", "14:30")),
    ],
)
def test_the_evening_and_the_two_hours_are_right_where_the_clocks_change(milking, told):
    assert times.before_milking(milking, QUIET, LONG_AGO) == told


@pytest.mark.parametrize(
    ("now", "told"),
    [
        (at("02-18", "06:00"), at("02-18", "06:00")),
        (at("02-18", "05:59"), at("02-18", "06:00")),
        (at("02-18", "20:59"), at("02-18", "20:59")),
        (at("02-18", "21:00"), at("02-19", "06:00")),
        (at("03-28", "23:30"), at("03-29", "06:00")),
        (at("10-24", "23:30"), at("10-25", "06:00")),
    ],
)
def test_a_later_date_is_told_at_once_from_six_to_nine_in_the_evening(now, told):
    assert times.lengthened(QUIET, now) == told


def test_an_earlier_date_waits_for_the_next_morning():
    assert times.next_morning(QUIET, at("02-18", "00:01")) == at("02-19", "09:00")
    assert times.next_morning(QUIET, at("02-18", "23:59")) == at("02-19", "09:00")
    assert times.next_morning(QUIET, at("03-28", "12:00")) == at("03-29", "09:00")


@pytest.mark.parametrize(
    ("since", "now", "mark"),
    [
        (at("02-10", "14:00"), at("03-10", "08:59"), None),
        (at("02-10", "14:00"), at("03-10", "09:00"), at("03-10", "09:00")),
        (at("02-10", "14:00"), at("04-10", "08:59"), at("03-10", "09:00")),
        (at("01-31", "14:00"), at("02-28", "09:00"), at("02-28", "09:00")),
        (at("01-31", "14:00"), at("03-30", "09:00"), at("02-28", "09:00")),
        (at("01-31", "14:00"), at("03-31", "09:00"), at("03-31", "09:00")),
    ],
)
def test_a_long_hold_is_told_once_a_month_at_nine(since, now, mark):
    assert times.month_mark(since, LONDON, now) == mark


def test_a_sale_is_warned_of_the_evening_before_and_its_clear_day_three_days_before():
    midnight = at("04-02", "00:00")
    assert times.day_before(midnight.astimezone(LONDON).date(), QUIET) == at("04-01", "19:00")
    assert times.days_before_clear(midnight, QUIET, LONG_AGO) == at("03-30", "09:00")
    assert times.on_first_day(midnight, QUIET, LONG_AGO) == at("04-02", "09:00")


@pytest.mark.parametrize(
    ("use", "told", "dangerous", "rung"),
    [
        (at("02-18", "16:30"), at("02-18", "09:00"), True, at("02-18", "14:30")),
        (at("02-18", "16:30"), at("02-18", "15:00"), True, at("02-18", "15:00")),
        (at("02-18", "05:30"), at("02-17", "19:00"), True, at("02-17", "19:30")),
        (at("02-18", "05:30"), at("02-17", "19:01"), True, at("02-18", "03:30")),
        (at("02-18", "05:30"), at("02-17", "19:01"), False, None),
        (at("02-18", "08:00"), at("02-17", "09:00"), True, at("02-18", "06:00")),
        (at("02-18", "07:59"), at("02-17", "09:00"), True, at("02-17", "19:30")),
        (at("02-18", "16:30"), at("02-18", "16:30"), True, None),
    ],
)
def test_what_nobody_has_read_is_rung_two_hours_before_or_in_the_evening(use, told, dangerous, rung):
    assert ring_at(use, told, QUIET, dangerous=dangerous) == rung


@pytest.mark.parametrize(
    ("now", "milking", "rung"),
    [
        (at("02-18", "20:59"), at("02-19", "05:30"), False),
        (at("02-18", "21:00"), at("02-19", "05:30"), True),
        (at("02-18", "23:00"), at("02-19", "07:59"), True),
        (at("02-18", "23:00"), at("02-19", "08:00"), False),
        (at("02-19", "05:29"), at("02-19", "05:30"), True),
        (at("02-19", "06:00"), at("02-19", "06:30"), False),
        (at("02-18", "23:00"), None, False),
    ],
)
def test_a_later_date_is_rung_at_night_only_if_the_milk_is_soon_to_be_used(now, milking, rung):
    assert rings_tonight(milking, QUIET, now) is rung


def test_collections_keep_their_local_hour_over_a_clock_change():
    every_day = range(7)
    assert next_collection(every_day, time(6), LONDON, at("03-28", "06:00")) == at("03-29", "06:00")
    assert next_collection(every_day, time(6), LONDON, at("03-28", "05:59")) == at("03-28", "06:00")
    assert next_collection([0], time(6), LONDON, at("03-24", "12:00")) == at("03-30", "06:00")
    with pytest.raises(ValueError, match="weekday"):
        next_collection([], time(6), LONDON, LONG_AGO)


HERD = Milking((time(5, 30), time(16, 30)))


@pytest.mark.parametrize(
    ("kind", "facts", "stake"),
    [
        (Kind.GIVEN, {"milk": True, "milking": HERD}, Stake(at("02-18", "16:30"), True)),
        (Kind.GIVEN, {"milk": True, "milking": Milking(robot=True)}, Stake(at("02-18", "13:00"), True)),
        (Kind.GIVEN, {"milk": False, "milking": HERD}, Stake(at("02-19", "11:00"), True)),
        (Kind.CHANGED, {"milk": True, "milking": HERD, "later": False}, None),
        (
            Kind.CHANGED,
            {"milk": True, "milking": HERD, "was_at": at("02-20", "05:30")},
            Stake(at("02-20", "05:30"), True),
        ),
        (
            Kind.CHANGED,
            {"milk": True, "milking": HERD, "was_at": at("02-18", "05:30")},
            Stake(at("02-18", "16:30"), True),
        ),
        (Kind.MEAT_ENDS, {"milk": False, "milking": None}, None),
    ],
)
def test_by_when_a_farm_has_to_know(kind, facts, stake):
    now = at("02-18", "09:00")
    assert stake_of(kind, at("02-21", "05:30"), now, tz=LONDON, **facts) == stake


MILKING = at("02-18", "16:30")


@pytest.mark.parametrize(
    ("kind", "facts", "now", "verdict"),
    [
        (Kind.MILK_ENDS, {"clear_at": MILKING}, MILKING - MINUTE, "send"),
        (Kind.MILK_ENDS, {"clear_at": MILKING}, MILKING, "late"),
        (Kind.MILK_ENDS, {"clear_at": MILKING}, MILKING + 7 * DAY, "late"),
        (Kind.MILK_ENDS, {"clear_at": MILKING}, MILKING + 7 * DAY + MINUTE, "clear for more than 7 days"),
        (Kind.MILK_ENDS, {"clear_at": MILKING, "holder": "B holds it"}, MILKING, "B holds it"),
        (Kind.MILK_ENDS, {"clear_at": None}, MILKING - HOUR, "no date"),
        (Kind.MILK_ENDS, {"clear_at": MILKING + MINUTE}, MILKING - HOUR, "has changed"),
        (Kind.MILK_ENDS, {"clear_at": MILKING, "left": True}, MILKING - HOUR, "left the farm"),
        (Kind.MILK_ENDS, {"clear_at": MILKING, "replaced": True}, MILKING - HOUR, "correction"),
        (Kind.GIVEN, {"left": True}, MILKING + 30 * DAY, "send"),
        (Kind.GIVEN, {"replaced": True}, MILKING, "correction"),
        (Kind.RECHECK, {"recheck_open": False}, MILKING, "closed already"),
        (Kind.RECHECK, {}, MILKING + DAY, "send"),
        (Kind.NOT_YET, {"clear_at": None}, MILKING - MINUTE, "send"),
        (Kind.NOT_YET, {"clear_at": None}, MILKING, "is past"),
        (Kind.NOT_YET, {"clear_at": MILKING + MINUTE}, MILKING - HOUR, "send"),
        (Kind.NOT_YET, {"clear_at": MILKING}, MILKING - HOUR, "nothing is held"),
        (Kind.NOT_YET, {"held": False}, MILKING - HOUR, "nothing is held"),
        (Kind.SALE_HELD, {"sale_ended": True}, MILKING - HOUR, "called off"),
        (Kind.MEAT_SOON, {"clear_at": MILKING}, MILKING - MINUTE, "send"),
        (Kind.MEAT_SOON, {"clear_at": MILKING}, MILKING, "clear already"),
        (Kind.LONG_HOLD, {"newest": False}, MILKING, "later month"),
        (Kind.LONG_HOLD, {"held": False}, MILKING, "nothing is held"),
        (Kind.LONG_HOLD, {}, MILKING, "send"),
    ],
)
def test_what_is_due_is_sent_or_closed_with_its_reason(kind, facts, now, verdict):
    found = judge(kind, Standing(MILKING, **facts), now)
    if found.send:
        assert ("late" if found.late else "send") == verdict
    else:
        assert verdict in found.why
