"""The drawn calls against the volumes they are drawn from, and what is published where it compares."""

from collections import Counter
from datetime import UTC, datetime, timedelta
from random import Random
from statistics import fmean, median, variance
from zoneinfo import ZoneInfo

import pytest

from dispatch.simulate import volumes
from dispatch.simulate.arrivals import hours_of, minutes_of_calls, visits_expected
from dispatch.simulate.calls import Answer
from dispatch.simulate.night import draw_night
from dispatch.simulate.volumes import (
    DAY_SHARES,
    DISPERSION,
    MONTH_INDEX,
    NIGHT_SHARES,
    NIGHT_SPECIES,
    VISITED_BY_NIGHT,
    WEEKDAY_NIGHT,
    WEEKEND_SHARES,
    Manners,
    calls_in_hour,
)

LONDON = ZoneInfo("Europe/London")
TUESDAY_EVENING = datetime(2027, 3, 9, 18, tzinfo=UTC)
DRAWS = 6_000


def expected_visits() -> list[float]:
    return visits_expected(hours_of(TUESDAY_EVENING, TUESDAY_EVENING + timedelta(hours=14), LONDON))


def drawn_nights() -> list[list[int]]:
    rng = Random("arrivals")
    return [minutes_of_calls(rng, expected_visits()) for _ in range(DRAWS)]


def test_shares_are_whole() -> None:
    assert sum(DAY_SHARES) == 100
    assert sum(NIGHT_SHARES) == 100
    assert sum(WEEKEND_SHARES) == pytest.approx(100, abs=0.6)
    assert all(sum(row[month] for row in NIGHT_SPECIES.values()) == 100 for month in range(12))


def test_a_weekday_night_in_march_expects_what_the_volumes_say() -> None:
    assert sum(expected_visits()) == pytest.approx(WEEKDAY_NIGHT * MONTH_INDEX[2] * VISITED_BY_NIGHT)


def test_counts_have_the_mean_and_the_over_dispersion() -> None:
    counts = [len(night) for night in drawn_nights()]
    mean = sum(expected_visits())
    assert fmean(counts) == pytest.approx(mean, rel=0.05)
    assert variance(counts) == pytest.approx(mean + mean**2 / DISPERSION, rel=0.10)
    assert variance(counts) > 1.5 * fmean(counts)  # a Poisson count would have a variance equal to its mean


def test_hours_have_their_shares() -> None:
    calls = Counter(minute // 60 for night in drawn_nights() for minute in night)
    total = sum(calls.values())
    for hour, share in enumerate(NIGHT_SHARES):
        error = (share / 100 * (1 - share / 100) / total) ** 0.5
        assert calls[hour] / total == pytest.approx(share / 100, abs=4 * error)


def test_a_weekend_morning_belongs_to_the_weekend() -> None:
    friday_night = datetime(2027, 3, 12, 23, tzinfo=LONDON)
    saturday = friday_night + timedelta(hours=1)
    assert calls_in_hour(friday_night) == pytest.approx(MONTH_INDEX[2] * WEEKDAY_NIGHT * 0.05)
    total = sum(WEEKEND_SHARES)
    assert calls_in_hour(saturday) == pytest.approx(MONTH_INDEX[2] * volumes.SATURDAY * 1.6 / total)


def test_half_of_the_weekend_calls_come_between_eight_and_four() -> None:
    """Published: 49.2 % of after-hours farm calls at weekends fall there (J Vet Emerg Crit Care 33(6), 2023).

    Its weekday figure, 90 % between 16:00 and midnight, is of a service that other hours do not
    reach and does not compare with a practice's own night; nor do we have its fewest in winter.
    """
    assert sum(WEEKEND_SHARES[8:16]) / sum(WEEKEND_SHARES) == pytest.approx(0.492, abs=0.02)


def test_spring_has_most_calls_as_published() -> None:
    seasons = {"winter": (12, 1, 2), "spring": (3, 4, 5), "summer": (6, 7, 8), "autumn": (9, 10, 11)}
    index = {name: sum(MONTH_INDEX[month - 1] for month in months) for name, months in seasons.items()}
    assert max(index, key=index.__getitem__) == "spring"


def test_answers_silences_and_lost_signal_come_as_often_as_said() -> None:
    calls = [call for number in range(400) for call in draw_night(5, number).calls]
    asked = [each for call in calls for answers in call.asked.values() for each in answers]
    manners = Manners()
    share = Counter(each.answer for each in asked)
    assert share[Answer.SILENT] / len(asked) == pytest.approx(manners.no_answer, abs=0.01)
    assert share[Answer.DECLINES] / len(asked) == pytest.approx(manners.declined, abs=0.01)
    accepted = [each.after_min for each in asked if each.answer == Answer.ACCEPTS]
    assert median(accepted) == manners.accept_median_min
    assert fmean(call.learned_after_min > 0 for call in calls) == pytest.approx(manners.no_signal, abs=0.05)


def test_visits_last_as_their_lognormal_says_and_a_few_run_over() -> None:
    calls = [call for number in range(900) for call in draw_night(6, number).calls]
    over = fmean(call.true_min > call.pessimistic_min for call in calls)
    below = fmean(call.true_min <= call.median_min for call in calls)
    overrun = Manners().overrun
    assert over == pytest.approx(overrun + (1 - overrun) * 0.10, abs=0.025)
    assert below == pytest.approx((1 - overrun) * 0.50, abs=0.04)
