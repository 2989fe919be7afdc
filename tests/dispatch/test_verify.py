"""manage.py verify: cases and traces come out as published, and every difference ends with an error."""

import json
import os
import subprocess
import sys
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from dispatch.serve.folder import CHECKOUT

DATA = Path(__file__).parents[1] / "data"
REST, WITHDRAWALS = DATA / "rest_cases.json", DATA / "withdrawal_cases.json"
INPUTS, TRACES = DATA / "fatigue" / "tpm_traces_inputs.csv", DATA / "fatigue" / "tpm_traces_hourly.csv"


def verified(*arguments):
    """Return what the command printed and its refusal, empty if there was none."""
    out = StringIO()
    try:
        call_command("verify", *map(str, arguments), stdout=out)
    except CommandError as error:
        return out.getvalue(), str(error)
    return out.getvalue(), ""


def written(tmp_path, document):
    file = tmp_path / "cases.json"
    file.write_text(json.dumps(document) if not isinstance(document, str) else document, encoding="utf-8")
    return file


def changed(tmp_path, file, case_id, **changes):
    """Return a copy of the cases in which one case is another."""
    document = json.loads(file.read_text(encoding="utf-8"))
    for case in document["cases"]:
        if case["id"] == case_id:
            case.update(changes)
    return written(tmp_path, document)


def test_every_rest_case_is_printed_with_its_figures():
    printed, refusal = verified("rest", REST)
    assert refusal == ""
    lines = printed.splitlines()
    assert lines[0].split() == ["case", "rule", "measured", "required", "margin", "expected", "got", "title"]
    r04 = next(line for line in lines if line.startswith("R04"))
    assert r04.split()[1:10] == ["EU_DAILY_REST", "10", "11", "-1", "10", "broken", "10", "broken", "same"]
    assert "      wall_clock_h: expected 11, got 11" in lines
    assert lines[-1] == "All 19 cases come out as expected."
    cases = [line for line in lines[1:-1] if not line.startswith(" ")]
    assert len(cases) == 19
    assert all(" same " in line for line in cases)


@pytest.mark.parametrize(
    ("case_id", "expected", "told"),
    [
        ("R01", {"measured_h": 13.9999}, "measured_h: expected 13.9999, got 14  DIFFERS"),
        ("R02", {"compliant": False}, "compliant: expected false, got true  DIFFERS"),
        ("R06", {"rest_blocks_h": [7, 4]}, "rest_blocks_h: expected [7, 4], got [7.0, 5.0]  DIFFERS"),
        ("R06", {"days_of_rain": 3}, 'days_of_rain: expected 3, got "nothing"  DIFFERS'),
    ],
)
def test_a_wrong_expectation_ends_with_an_error_that_names_the_case(tmp_path, case_id, expected, told):
    printed, refusal = verified("rest", changed(tmp_path, REST, case_id, expected=expected))
    assert refusal == f"1 of 19 cases differ: {case_id}."
    assert f"      {told}" in printed.splitlines()


def test_a_duty_one_minute_longer_is_seen(tmp_path):
    intervals = [
        {"start": "2025-06-02T08:00", "end": "2025-06-02T21:01", "kind": "work"},
        {"start": "2025-06-03T08:00", "end": "2025-06-03T18:00", "kind": "work"},
    ]
    _, refusal = verified("rest", changed(tmp_path, REST, "R02", intervals=intervals))
    assert refusal == "1 of 19 cases differ: R02."


def test_a_case_that_nothing_here_measures_is_a_difference(tmp_path):
    printed, refusal = verified("rest", changed(tmp_path, REST, "R01", ruleset="EU_OPT_OUT"))
    assert refusal == "1 of 19 cases differ: R01."
    assert "      not computed: No rule EU_OPT_OUT is measured here." in printed.splitlines()


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("{", "is not JSON in UTF-8"),
        ("[]", 'must be an object with a list named "cases"'),
        ('{"cases": []}', "holds no cases"),
        ('{"cases": [7]}', "Case 7 cannot be read"),
        ('{"cases": [{"id": "X1"}]}', "Case X1 cannot be read: it has no 'ruleset'."),
        (
            '{"cases": [{"id": "X2", "ruleset": "EU_DAILY_REST", "expected": 3, "inputs": {"a": 1}}]}',
            "Case X2 cannot be read",
        ),
        (
            '{"cases": [{"id": "X3", "ruleset": "EU_DAILY_REST", "expected": {"measured_h": 1}, "timezone": '
            '"Nowhere/At_all", "intervals": [{"start": "2025-06-02T08:00", "end": "x", "kind": "work"}]}]}',
            "Case X3 cannot be read",
        ),
        (
            '{"cases": [{"id": "X4", "ruleset": "EU_DAILY_REST", "expected": {"measured_h": 1}, "intervals": '
            '[{"start": "2025-06-02T08:00", "end": "2025-06-02T07:00", "kind": "work"}]}]}',
            "Case X4 cannot be read: A stretch must end after it starts",
        ),
    ],
)
def test_a_file_that_holds_no_cases_is_refused_in_a_sentence(tmp_path, text, told):
    _, refusal = verified("rest", written(tmp_path, text))
    assert told in refusal


@pytest.mark.parametrize("what", [["rest"], ["withdrawals"], ["fatigue", INPUTS]])
def test_a_file_that_is_not_there_is_refused_by_its_name(what, tmp_path):
    printed, refusal = verified(*what, tmp_path / "none.json")
    assert "none.json cannot be read: No such file or directory." in refusal
    assert printed == ""


def test_every_withdrawal_case_is_printed_with_its_dates(tmp_path):
    printed, refusal = verified("withdrawals", WITHDRAWALS)
    assert refusal == ""
    assert printed.splitlines()[0] == "W01   same     flunixin IV once"
    assert '      milk_clear_at: expected "2025-01-12T02:30", got "2025-01-12T02:30"' in printed
    assert printed.splitlines()[-1] == "All 10 cases come out as expected."
    wrong = changed(tmp_path, WITHDRAWALS, "W01", expected={"milk_clear_at": "2025-01-12T02:31"})
    assert verified("withdrawals", wrong)[1] == "1 of 10 cases differ: W01."


def test_every_column_of_the_traces_is_printed_with_its_largest_difference():
    printed, refusal = verified("fatigue", INPUTS, TRACES)
    assert refusal == ""
    lines = printed.splitlines()
    assert lines[0].split() == ["column", "rows", "largest", "difference", "where"]
    columns = {line.split()[0]: float(line.split()[2]) for line in lines[1:-1]}
    assert {"S", "C", "U", "W", "KSS_fips"} <= columns.keys()
    assert max(columns.values()) <= 1e-4
    assert lines[-1] == "Every column agrees within 0.0001."


def test_a_trace_that_is_a_little_off_ends_with_an_error(tmp_path):
    rows = TRACES.read_text(encoding="utf-8").splitlines()
    names, cells = rows[0].split(","), rows[5].split(",")
    at = names.index("S")
    cells[at] = f"{float(cells[at]) + 0.0002:.4f}"
    off = tmp_path / "off.csv"
    off.write_text("\n".join([*rows[:5], ",".join(cells), *rows[6:]]), encoding="utf-8")
    assert verified("fatigue", INPUTS, off)[1] == "More than 0.0001 apart: S."


def test_traces_without_their_columns_are_refused(tmp_path):
    bare = tmp_path / "bare.csv"
    bare.write_text("schedule,datetime\nx,2024-01-01T00:00\n", encoding="utf-8")
    assert "bare.csv lacks the column" in verified("fatigue", INPUTS, bare)[1]


@pytest.mark.parametrize(
    ("file", "status"), [(REST, 0), (DATA / "none.json", 1)], ids=["all agree", "nothing to read"]
)
def test_it_needs_no_server_and_its_exit_status_tells(file, status):
    ran = subprocess.run(
        [sys.executable, "manage.py", "verify", "rest", str(file)],
        cwd=CHECKOUT,
        env={"PATH": os.environ["PATH"]},
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == status, ran.stderr
