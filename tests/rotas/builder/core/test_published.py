"""The published format: read, made a problem, written, counted; the reference rosters where they are."""

import os
from pathlib import Path

import pytest

from rotas.builder.cost import cost_of
from rotas.builder.published.adapter import A_MONDAY, problem_of
from rotas.builder.published.benchmark import entries, judged, names, ran, surveyed
from rotas.builder.published.best_known import best_known, gap_percent
from rotas.builder.published.instance import Cover, Request, Shift, Staff
from rotas.builder.published.reading import FileRefused, is_instance, parsed, read_instance
from rotas.builder.published.rosters import read_roster, write_roster
from rotas.builder.roster import RosterError
from rotas.builder.solving import Solved
from tests.rotas.builder.core.small import cheapest, roster_of

FOLDER = Path(os.environ.get("SHIFT_SCHEDULING_BENCHMARKS", "../shared/benchmarks/shift_scheduling"))
REFERENCES = sorted((FOLDER / "reference_rosters").glob("*_cost*.csv"))

INVENTED = """# three days for two
SECTION_HORIZON
# days
3

SECTION_SHIFTS
E,480,
L,600,E

SECTION_STAFF
Ada,E=3|L=1,1600,480,3,1,1,1
Ben,E=2|L=0,960,0,2,2,2,0

SECTION_DAYS_OFF
Ada,2
SECTION_SHIFT_ON_REQUESTS
Ada,0,L,3
Ben,1,E,2

SECTION_SHIFT_OFF_REQUESTS
Ben,0,E,4

SECTION_COVER
0,E,1,100,1
0,L,1,100,1
1,E,2,100,5
"""


def test_every_section_is_read() -> None:
    made = parsed("invented", INVENTED)
    assert (made.name, made.days) == ("invented", 3)
    assert made.shifts == (Shift("E", 480, frozenset()), Shift("L", 600, frozenset({"E"})))
    assert made.staff[0] == Staff("Ada", {"E": 3, "L": 1}, 1600, 480, 3, 1, 1, 1)
    assert made.days_off == {"Ada": frozenset({2})}
    assert made.requests == (
        Request("Ada", 0, "L", 3, on=True),
        Request("Ben", 1, "E", 2, on=True),
        Request("Ben", 0, "E", 4, on=False),
    )
    assert made.cover[2] == Cover(1, "E", 2, 100, 5)


def test_the_adapter_counts_as_the_format_says() -> None:
    asked = problem_of(parsed("invented", INVENTED))
    assert asked.first_day == A_MONDAY
    assert A_MONDAY.weekday() == 0
    assert asked.person_of["Ben"].allowed == {"E"}
    nobody = cost_of(asked, roster_of())
    assert nobody.total == 3 + 2 + 100 + 100 + 200
    assert nobody.broken == ("Ada works 0 min; at least 480 are due.",)
    both = cost_of(asked, roster_of(Ada="L..", Ben="EE."))
    assert both.broken == ()
    assert both.total == 4 + 100  # Ben's wish, and one short on day 1
    assert both.by_prices == 4
    assert dict(both.by_total) == {"cover of E on day 1": 100}
    crowded = cost_of(asked, roster_of(Ada="EE.", Ben="EE."))
    assert crowded.total == 3 + 4 + 1 + 100


@pytest.mark.parametrize(
    ("text", "where", "reason"),
    [
        ("SECTION_HORIZON\n3\n", "section SHIFTS", "is missing or empty"),
        ("7\n" + INVENTED, "line 1", "stands before the first section"),
        (INVENTED + "SECTION_MOOD\n", "line 27", "there is no section MOOD"),
        (INVENTED + "2,L,1,100\n", "line 27 (COVER)", "not enough values to unpack (expected 5, got 4)"),
        (
            INVENTED.replace("L,600,E", "L,ten,E"),
            "line 8 (SHIFTS)",
            "invalid literal for int() with base 10: 'ten'",
        ),
    ],
)
def test_a_file_that_cannot_be_meant_is_refused_with_its_line(text: str, where: str, reason: str) -> None:
    with pytest.raises(RosterError) as refused:
        parsed("invented", text)
    assert (refused.value.where, refused.value.reason) == (where, reason)


def test_people_and_days_that_disagree_are_refused_with_the_file(tmp_path: Path) -> None:
    path = tmp_path / "Instance5.txt"
    path.write_text(INVENTED.replace("0,L,1,100,1", "9,L,1,100,1"))
    with pytest.raises(FileRefused) as refused:
        list(entries([path], tmp_path))
    assert (
        str(refused.value)
        == "Instance5.txt: total cover of L on day 9: day 9 is not one of the 3 days, 0 to 2"
    )


def test_a_folder_is_surveyed_by_number_and_other_files_are_left(tmp_path: Path) -> None:
    for name in ("Instance10.txt", "Instance2.txt", "Instance1.txt"):
        (tmp_path / name).write_text(INVENTED)
    (tmp_path / "notes.txt").write_text("not an instance")
    (tmp_path / "best_known.csv").write_text("instance,days,best_known_2026\nInstance2,3,104\n")
    assert [path.stem for path in surveyed(tmp_path)] == ["Instance1", "Instance2", "Instance10"]
    assert [path.stem for path in surveyed(tmp_path, ["1", "Instance2"])] == ["Instance1", "Instance2"]
    assert [entry.known for entry in entries(surveyed(tmp_path), tmp_path)] == [None, 104, None]


@pytest.mark.parametrize(
    ("text", "name", "meant"),
    [
        ("1", "Instance1", True),
        ("1", "Instance11", False),
        ("Instance1*", "Instance11", True),
        ("Instance1", "Instance11", False),
    ],
)
def test_names_choose_instances(text: str, name: str, meant: bool) -> None:
    assert names(text, name) is meant


def test_the_best_known_are_found_in_the_folder_above_too(tmp_path: Path) -> None:
    below = tmp_path / "instances"
    below.mkdir()
    assert best_known(below) == {}
    (tmp_path / "best_known.csv").write_text("instance,best_known_2026\nInstance1,607\n")
    assert best_known(below) == {"Instance1": 607}
    (below / "best_known.csv").write_text("instance,best_known\nInstance1,many\n")
    with pytest.raises(FileRefused, match=r"best_known\.csv: cannot be read"):
        best_known(below)


def test_gaps_are_in_per_cent_of_the_best_known() -> None:
    assert gap_percent(1100, 1000) == 10.0
    assert gap_percent(990, 1000) == -1.0
    assert gap_percent(0, 0) == 0.0


def test_a_roster_is_written_and_read_back_the_same(tmp_path: Path) -> None:
    asked = problem_of(parsed("invented", INVENTED))
    path = tmp_path / "roster.csv"
    write_roster(path, asked, roster_of(Ada="L..", Ben="EE."))
    assert path.read_text() == "employee,0,1,2\nAda,L,,\nBen,E,E,\n"
    assert read_roster(path) == roster_of(Ada="L..", Ben="EE.")
    assert not is_instance(path)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("", "cannot be read as a roster"),
        ("employee,0,2\nAda,E,\n", "line 1: must be employee and the days from 0"),
        ("employee,0,1\nAda,E\n", "line 2: has 1 days, not 2"),
        ("employee,0\nAda,E\nAda,E\n", "line 3: Ada is there twice"),
    ],
)
def test_a_file_that_is_no_roster_is_refused(tmp_path: Path, text: str, reason: str) -> None:
    path = tmp_path / "roster.csv"
    path.write_text(text)
    with pytest.raises(FileRefused, match=reason):
        read_roster(path)


def test_an_instance_is_solved_written_and_judged_by_its_file(tmp_path: Path) -> None:
    path = tmp_path / "Instance1.txt"
    path.write_text(INVENTED)
    (entry,) = entries([path], tmp_path)
    result = ran(entry, 30.0, 1, 1, tmp_path)
    best = cheapest(entry.problem)
    assert best is not None
    assert best.total == 103  # Ada E on days 0 and 1, Ben E on 1 and 2: no L on day 0, and Ada's wish for it
    assert (result.cost, result.bound, result.proven, result.broken) == (103, 103, True, ())
    (tmp_path / "Instance1.csv").write_text("employee,0,1,2\nAda,L,E,E\nBen,,,\n")
    spoilt = judged(entry, Solved(None, None, None, False, 1.0), tmp_path / "Instance1.csv")
    assert spoilt.cost is None
    assert spoilt.gap is None
    assert spoilt.broken == (
        "Ada works E on day 2 (Wed 2024-01-03), a day off.",
        "Ada works E on day 1 (Tue 2024-01-02), the day after L.",
    )


@pytest.mark.skipif(not REFERENCES, reason=f"no reference rosters of shift scheduling in {FOLDER}")
@pytest.mark.parametrize("path", REFERENCES, ids=lambda path: path.stem)
def test_reference_rosters_cost_what_is_printed(path: Path) -> None:
    name, _, printed = path.stem.partition("_cost")
    asked = problem_of(read_instance(FOLDER / "instances" / f"{name}.txt"))
    counted = cost_of(asked, read_roster(path))
    assert (counted.total, counted.broken) == (int(printed), ())
