"""The model against reference values of the published software, run once outside this project.

Figures: R package FIPS 0.2.1, commit 040e6f3f73a659c93223551576a7157f26198fcb, its default parameters.
"""

import csv
import math
from pathlib import Path

import numpy as np
import pytest

from rotas.fatigue import replay, tpm
from rotas.fatigue.kss import forms, on_the_scale
from rotas.fatigue.replay import TOLERANCE, NotReplayable, differences

DATA = Path(__file__).parents[2] / "data" / "fatigue"
INPUTS, TRACES = DATA / "tpm_traces_inputs.csv", DATA / "tpm_traces_hourly.csv"
POINTS = list(csv.DictReader((DATA / "tpm_function_points.csv").read_text().splitlines()))
P = tpm.published()


def value_of(fun: str, given: dict[str, str]) -> float:
    """The published function at one point, by this project's equations."""
    number = {name: float(text) for name, text in given.items() if text != "default"}
    if fun == "S_wake":
        return tpm.s_awake(number["S_at_wake"], number["hours_awake"], P)
    if fun == "S_sleep":
        return tpm.s_asleep(number["S_at_sleep"], number["hours_asleep"], P, as_published=True)
    if fun == "breaktime_h":
        return tpm.break_time(number["S_at_sleep"], P)
    if fun == "W":
        return tpm.w_after(number["hours_awake"], P)
    if fun in "CU":
        return {"C": tpm.c_at, "U": tpm.u_at}[fun](number["tod"], P)
    assert fun == "g_default"
    return P.g


@pytest.mark.parametrize("row", POINTS, ids=lambda row: f"{row['fun']} {row['args']}")
def test_function_point_is_reproduced(row):
    given = dict(pair.split("=") for pair in row["args"].split(";") if "=" in pair)
    assert value_of(row["fun"], given) == pytest.approx(float(row["value"]), abs=6e-7)


def test_no_function_point_is_left_out():
    assert len(POINTS) == 92
    assert {row["fun"] for row in POINTS} == {"S_wake", "S_sleep", "breaktime_h", "C", "U", "W", "g_default"}


def test_every_column_of_every_hour_is_reproduced():
    found = differences(INPUTS, TRACES)
    assert [each.column for each in found] == list(replay.COLUMNS)
    assert {each.rows for each in found} == {412}
    assert [each for each in found if not each.agrees] == []


def test_g_is_its_definition():
    assert P.g == pytest.approx(math.log((14.3 - 14) / (14.3 - 7.96)) / 8, abs=1e-15)


def test_above_the_break_level_the_published_software_starts_beside_s_and_we_do_not():
    assert tpm.s_asleep(12.5, 0.0, P, as_published=True) == pytest.approx(12.4796, abs=1e-4)
    assert tpm.s_asleep(12.5, 0.0, P) == pytest.approx(12.5, abs=1e-12)


@pytest.mark.parametrize("level", [3.0, 7.96, 12.19, 12.2])
def test_up_to_the_break_level_both_ways_are_one(level):
    hours = np.linspace(0, 12, 49)
    at = np.full_like(hours, level)
    assert tpm.s_asleep(at, hours, P) == pytest.approx(tpm.s_asleep(at, hours, P, as_published=True))


def test_arrays_and_single_values_agree():
    hours = np.array([0.0, 1.0, 5.0, 9.0])
    for level in (4.0, 12.2, 13.0):
        one_by_one = [tpm.s_asleep(level, hour, P) for hour in hours.tolist()]
        assert tpm.s_asleep(np.full(4, level), hours, P) == pytest.approx(one_by_one, abs=1e-12)


def changed(tmp_path: Path, old: str, new: str) -> Path:
    text = TRACES.read_text()
    assert old in text
    path = tmp_path / "traces.csv"
    path.write_text(text.replace(old, new, 1))
    return path


@pytest.mark.parametrize(("printed", "agrees"), [("7.1945", True), ("7.1946", False)])
def test_the_tolerance_is_a_ten_thousandth(tmp_path, printed, agrees):
    """The computed value there is 7.1944 to four digits; 7.19454 and 7.19436 stay on their sides."""
    row = "normal_23_07,2024-01-02T00:00,1.00,0,1.0000,8.7608,-0.7725,-0.7939,0.0000,"
    found = differences(INPUTS, changed(tmp_path, row + "7.1944", row + printed))
    column = next(each for each in found if each.column == "alertness_SCU")
    assert column.agrees is agrees
    assert column.agrees is (column.largest <= TOLERANCE)


def test_a_wrong_value_is_named_with_its_column_and_moment(tmp_path):
    found = differences(INPUTS, changed(tmp_path, "2024-01-02T07:00,8.00,1,", "2024-01-02T07:00,8.00,0,"))
    wrong = [each for each in found if not each.agrees]
    assert [(each.column, each.largest, each.where) for each in wrong] == [
        ("awake", 1.0, "normal_23_07 2024-01-02T07:00")
    ]


def test_a_value_that_is_no_number_never_agrees(tmp_path):
    found = differences(INPUTS, changed(tmp_path, "8.7608", "nan"))
    assert next(each for each in found if each.column == "S").largest == math.inf


@pytest.mark.parametrize(
    ("inputs", "traces", "problem"),
    [
        ("schedule,sleep_start\n", None, "lacks the column sleep_end"),
        (None, "schedule,datetime\n", "lacks the column sim_hours"),
        (None, TRACES.read_text().split("\n")[0] + "\n", "has no rows"),
        (INPUTS.read_text().replace("awake_24h", "other"), None, "has no sleeps for awake_24h"),
        (INPUTS.read_text().replace("T07:00", "Tseven", 1), None, "is no time"),
    ],
)
def test_a_file_that_cannot_be_compared_says_what_it_lacks(tmp_path, inputs, traces, problem):
    paths = tmp_path / "inputs.csv", tmp_path / "traces.csv"
    paths[0].write_text(inputs or INPUTS.read_text())
    paths[1].write_text(traces or TRACES.read_text())
    with pytest.raises(NotReplayable, match=problem):
        differences(*paths)


def test_the_two_verified_forms_and_the_recalled_one_are_marked():
    assert [form.mark.startswith("verified") for form in forms().values()] == [True, True, False]


def test_shown_sleepiness_stays_on_the_scale():
    assert on_the_scale(np.array([-1.0, 1.0, 5.5, 9.0, 9.2])).tolist() == [1.0, 1.0, 5.5, 9.0, 9.0]
