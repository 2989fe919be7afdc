"""Published risks and blood-alcohol equivalents at their limits; sources in the data files."""

from datetime import timedelta

import pytest

from rotas.fatigue import blood_alcohol
from rotas.fatigue.blood_alcohol import equivalents, for_the_drive_home, measures_reached
from rotas.fatigue.risk import figures, may_clear, risks_at
from rotas.rest.marks import Level
from tests.rotas.fatigue.duties import HOUR, MINUTE, at, log_of


def told(log, when: str) -> dict[str, float]:
    return {risk.factor: risk.value for risk in risks_at(log, at(when))}


@pytest.mark.parametrize(("nights", "value"), [(1, None), (2, 1.06), (3, 1.17), (4, 1.36), (5, 1.36)])
def test_nights_in_a_row_have_their_figure_woken_or_not(nights, value):
    log = log_of(*(f"home {day} 18:00 {day + 1} 06:00" for day in range(1, nights + 1)))
    assert told(log, f"{nights + 1} 02:00").get("successive nights") == value


@pytest.mark.parametrize(
    ("until", "value"),
    [("17:59", None), ("18:00", 1.15), ("19:59", 1.15), ("20:00", 1.38), ("20:01", 2.47)],
)
def test_a_shift_s_length_has_its_figure(until, value):
    assert told(log_of(f"work 1 08:00 1 {until}"), "1 09:00").get("shift length") == value


def test_a_shift_counts_while_it_runs():
    log = log_of("work 1 08:00 1 20:00")
    assert "shift length" not in told(log, "1 07:59")
    assert "shift length" in told(log, "1 08:00")
    assert "shift length" not in told(log, "1 20:00")


@pytest.mark.parametrize(("ended", "value"), [("21:00", 1.39), ("20:59", None)])
def test_a_quick_return_is_eleven_hours_or_less_after_any_work(ended, value):
    log = log_of(f"call 1 19:00 1 {ended}", "work 2 08:00 2 16:00")
    assert told(log, "2 08:00").get("quick return") == value


def test_work_that_runs_on_into_the_shift_is_no_return():
    assert "quick return" not in told(log_of("call 2 06:00 2 08:00", "work 2 08:00 2 16:00"), "2 09:00")


def test_a_risk_names_the_raw_number_the_figure_and_its_mark():
    log = log_of("home 1 18:00 2 06:00", "home 2 18:00 3 06:00", "home 3 18:00 4 06:00")
    (risk,) = risks_at(log, at("4 02:00"))
    assert risk.sentence == (
        "Night 3 in a row: risk of injury about 1.17 times, night 3 vs night 1 "
        "(Folkard & Tucker 2003; from memory, not verified)."
    )


@pytest.mark.parametrize(("nights", "may"), [(0, True), (2, True), (3, False), (4, False)])
def test_the_model_alone_clears_no_third_night(nights, may):
    assert may_clear(nights) is may


def test_every_figure_keeps_its_mark_and_only_plain_ones_are_used():
    assert len(figures()) == 19
    assert all(each.mark for each in figures())
    assert {each.factor for each in figures() if each.value} == {
        "successive nights",
        "shift length",
        "quick return",
    }


@pytest.mark.parametrize(
    ("awake_h", "percent", "count"),
    [
        (16.90, 0.05, 0),
        (16.91, 0.05, 1),
        (18.54, 0.05, 10),
        (18.55, 0.05, 11),
        (17.73, 0.10, 0),
        (17.74, 0.10, 1),
        (19.64, 0.10, 10),
        (19.65, 0.10, 11),
    ],
)
def test_measures_of_table_6_are_counted_from_their_hour(awake_h, percent, count):
    """Williamson & Feyer 2000, Occup Environ Med 57:649-655, table 6."""
    assert measures_reached(awake_h, percent) == count


def test_the_table_has_no_other_blood_alcohol():
    with pytest.raises(ValueError, match=r"0\.08"):
        measures_reached(18, 0.08)


@pytest.mark.parametrize(
    ("awake", "said"),
    [(17 * HOUR - MINUTE, False), (17 * HOUR, True)],
)
def test_seventeen_hours_are_dawson_and_reid_s_first_figure(awake, said):
    assert any("17 h awake equalled 0.05 %" in each for each in equivalents(awake)) is said


def test_a_day_and_a_night_name_the_higher_figure_only():
    assert equivalents(24 * HOUR)[-1] == "24 h awake equalled about 0.10 % alcohol (Dawson & Reid 1997)."
    assert equivalents(16 * HOUR) == ()


@pytest.mark.parametrize(
    ("awake", "drive_min", "level"),
    [
        (15 * HOUR - MINUTE, 31, Level.GREEN),
        (15 * HOUR, 5, Level.AMBER),
        (17 * HOUR - MINUTE, 31, Level.AMBER),
        (17 * HOUR, 31, Level.RED),
        (17 * HOUR, 30, Level.AMBER),
        (18 * HOUR - MINUTE, 30, Level.AMBER),
        (18 * HOUR, 30, Level.RED),
    ],
)
def test_the_drive_home_goes_by_the_marks(awake, drive_min, level):
    found = for_the_drive_home(awake, drive_min)
    assert found.level == level
    assert found.sentence.startswith("Awake about ")
    assert blood_alcohol.ADVICE[level] in found.sentence
    assert ("Do not drive" in found.sentence) is (level == Level.RED)


def test_raw_hours_come_first():
    assert for_the_drive_home(timedelta(hours=3, minutes=20), 12).sentence == (
        "Awake about 3 h 20 min, 12 min to drive."
    )
