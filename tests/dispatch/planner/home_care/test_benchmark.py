"""What a folder of days holds, how a row is judged, and what the means and the command say."""

import gzip
import json
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from dispatch.management.commands.bench_home_care import Command
from dispatch.planner.home_care.benchmark import Entry, Row, judged, means, means_per_set, surveyed
from dispatch.planner.home_care.best_known import Known, best_known
from dispatch.planner.home_care.check import broken_rules, cost
from dispatch.planner.home_care.files import read_solution
from dispatch.planner.home_care.instance import Solution
from dispatch.planner.home_care.reading import FileRefused
from tests.dispatch.planner.home_care.days import DAY, DOCUMENT, PUBLISHED, ROUTES, SOLUTION, needs_published

TABLE = "set_id,file,best_of_all,proven_optimal\nB3,day,23.333,yes\n"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Two days, one of them with a best known value in the folder above, among other files."""
    days = tmp_path / "days"
    days.mkdir()
    (tmp_path / "best_known.csv").write_text(TABLE)
    (days / "day.json").write_text(json.dumps(DOCUMENT))
    (days / "odd_2.json.gz").write_bytes(gzip.compress(json.dumps(DOCUMENT).encode()))
    (days / "sol-day-1.json").write_text('{"routes": []}')
    (days / "rota.json").write_text("{}")
    (days / "notes.txt").write_text("hello")
    (days / "deeper").mkdir()
    return days


def test_days_are_found_and_other_files_are_told(folder: Path) -> None:
    found = surveyed(folder)
    assert [(each.instance.name, each.set_id) for each in found.entries] == [
        ("day", "B3"),
        ("odd_2", "other"),
    ]
    assert found.entries[0].known == Known("B3", 23.333, True)
    assert found.entries[1].known is None
    assert found.skipped == (
        "notes.txt: not a .json or .json.gz file",
        "rota.json: no instance: it has no patients",
        "sol-day-1.json: a solution, not an instance",
    )


@pytest.mark.parametrize(
    ("only", "found"),
    [
        ("B", ["day"]),
        ("B3", ["day"]),
        ("B4", []),
        ("C", []),
        ("odd", ["odd_2"]),
        ("other", ["odd_2"]),
        ("d", 2),
    ],
)
def test_only_names_a_set_an_instance_of_it_or_a_part_of_the_name(
    folder: Path, only: str, found: list[str] | int
) -> None:
    names = [each.instance.name for each in surveyed(folder, [only]).entries]
    assert names == found or len(names) == found


def test_a_table_in_the_folder_itself_comes_first(folder: Path) -> None:
    (folder / "best_known.csv").write_text(TABLE.replace("23.333", "20").replace("yes", "no"))
    assert best_known(folder) == {"day": Known("B3", 20, False)}


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("B3,day,many,yes", "line 2 best_of_all: must be a number above zero"),
        ("B3,day,0,yes", "line 2 best_of_all: must be a number above zero"),
        ("B3,,1,yes", "line 2 file: is missing"),
    ],
)
def test_a_table_that_cannot_be_read_is_refused(folder: Path, row: str, said: str) -> None:
    (folder / "best_known.csv").write_text(TABLE.splitlines()[0] + "\n" + row + "\n")
    with pytest.raises(FileRefused, match=said):
        surveyed(folder)


def test_a_day_given_twice_is_refused(folder: Path) -> None:
    (folder / "odd_2.json").write_text(json.dumps(DOCUMENT))
    with pytest.raises(FileRefused, match="both plain and gzipped"):
        surveyed(folder)


@needs_published
def test_published_days_come_smallest_first_with_their_sets() -> None:
    found = surveyed(PUBLISHED / "instances")
    ids = [each.set_id for each in found.entries]
    assert ids == [f"{letter}{number}" for letter in "ABCDEFG" for number in (1, 3, 5, 7, 9)]
    assert all(each.known for each in found.entries)


@needs_published
def test_a_published_day_without_a_table_is_put_in_its_set_by_size(tmp_path: Path) -> None:
    name = "InstanzCPLEX_HCSRP_25_7.json"
    (tmp_path / name).write_bytes((PUBLISHED / "instances" / name).read_bytes())
    (entry,) = surveyed(tmp_path).entries
    assert (entry.set_id, entry.known) == ("B7", None)


def row(objective: float, best: float | None, set_id: str = "A1", proven: bool = True) -> Row:
    known = None if best is None else Known(set_id, best, proven)
    return Row(Entry(DAY, set_id, known), objective, 1.0, ())


@pytest.mark.parametrize(
    ("objective", "gap", "below"),
    [
        (200.0009, 0.0, False),  # within the rounding of the table
        (200.0011, 0.00055, False),
        (199.9991, 0.0, False),
        (199.9989, -0.00055, True),
        (202, 1.0, False),
    ],
)
def test_the_gap_is_in_per_cent_and_forgives_the_rounding(objective: float, gap: float, below: bool) -> None:
    found = row(objective, 200)
    assert found.gap_percent == pytest.approx(gap)
    assert found.below_best_known == below


def test_means_are_per_set_and_leave_out_what_is_not_known() -> None:
    rows = [row(110, 100), row(90, 100), row(100, None), row(50, 50, "B2"), row(60, 60, "B4", proven=False)]
    first, second = means_per_set(rows)
    assert (first.name, first.days, first.objective, first.gap_percent) == ("A", 3, 100, pytest.approx(0))
    assert (first.below, first.proven, first.reached) == (1, 2, 1)
    assert (second.name, second.days, second.proven, second.reached) == ("B", 2, 1, 1)
    assert means("all", rows).days == 5
    assert means("all", [row(1, None)]).gap_percent is None


def test_what_is_judged_is_what_was_written(tmp_path: Path) -> None:
    entry = Entry(DAY, "B3", None)
    good = judged(entry, SOLUTION, 1.5, tmp_path / "good.json")
    assert (good.objective, good.broken) == (cost(DAY, SOLUTION), ())
    assert read_solution(tmp_path / "good.json").routes["kim"] == ROUTES["kim"]
    bad = judged(entry, Solution({"kim": ROUTES["kim"]}), 1.5, tmp_path / "bad.json")
    assert bad.objective is None
    assert bad.broken == broken_rules(DAY, Solution({"kim": ROUTES["kim"]}))
    assert (tmp_path / "bad.json").is_file()


def test_the_command_prints_a_row_per_day_the_means_and_writes_solutions(
    folder: Path, tmp_path: Path
) -> None:
    out = StringIO()
    call_command("bench_home_care", folder, seconds=0.3, out=tmp_path / "new" / "out", seed=4, stdout=out)
    lines = out.getvalue().splitlines()
    assert lines[0] == "skipped notes.txt: not a .json or .json.gz file"
    rows = {line.split()[0]: line.split() for line in lines}
    assert rows["day"][1:6] == ["B3", "3/3", "23.333", "23.333", "+0.000"]
    assert rows["odd_2"][1:6] == ["other", "3/3", "23.333", "-", "-"]
    assert (
        "set B: 1 instances, mean objective 23.333, mean gap +0.000 %, below the best known 0; "
        in out.getvalue()
    )
    assert "proven optima reached 1 of 1" in lines[-1]
    for name in ("day", "odd_2"):
        written = read_solution(tmp_path / "new" / "out" / f"sol-{name}-4.json")
        assert broken_rules(DAY, written) == ()
        assert cost(DAY, written) == pytest.approx(70 / 3)


@needs_published
def test_the_command_reaches_the_toy_optimum(tmp_path: Path) -> None:
    out = StringIO()
    call_command("bench_home_care", PUBLISHED, seconds=1, out=tmp_path, stdout=out)
    assert "toy" in out.getvalue()
    assert "111.333" in out.getvalue()


def test_the_command_ends_with_an_error_where_a_solution_fails() -> None:
    out = StringIO()
    rows = [row(100, 100), Row(Entry(DAY, "A3", None), None, 1.0, ("patient ada is forgotten",))]
    with pytest.raises(CommandError, match="1 of 2 solutions fail the re-check"):
        Command(stdout=out).sum_up(rows)
    assert "set A: 1 instances, mean objective 100.000" in out.getvalue()


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["nowhere"], "nowhere is not a folder"),
        ([".", "--seconds", "-1"], "time_limit_s: must be between 0 and 3600 seconds"),
        ([".", "--workers", "0"], "workers: must be between 1 and 64"),
        ([".", "--only", "G7"], "holds no instance named by G7"),
    ],
)
def test_the_command_says_what_is_wrong_with_its_arguments(
    folder: Path, monkeypatch: pytest.MonkeyPatch, arguments: list[str], said: str
) -> None:
    monkeypatch.chdir(folder)
    with pytest.raises(CommandError, match=said):
        call_command("bench_home_care", *arguments, "--out", "out", stdout=StringIO())
    assert not Path("out").exists()


def test_the_command_names_the_malformed_file_before_it_runs_any(folder: Path, tmp_path: Path) -> None:
    (folder / "zz.json").write_text('{"patients": [], "caregivers": [], "distances": []}')
    with pytest.raises(CommandError, match=r"zz\.json: patients: must not be empty"):
        call_command("bench_home_care", folder, out=tmp_path / "out", stdout=StringIO())
    assert not (tmp_path / "out").exists()


def test_an_out_that_is_a_file_is_refused(folder: Path, tmp_path: Path) -> None:
    (tmp_path / "out").write_text("")
    with pytest.raises(CommandError, match="cannot be made a folder"):
        call_command("bench_home_care", folder, out=tmp_path / "out", stdout=StringIO())
