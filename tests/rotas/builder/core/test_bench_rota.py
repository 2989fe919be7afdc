"""manage.py bench_rota: figures on the line, rosters in the folder, an error where a rule is broken."""

from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from dispatch.management.commands.bench_rota import Command
from rotas.builder.published.adapter import problem_of
from rotas.builder.published.benchmark import Entry, Result
from rotas.builder.published.reading import parsed
from tests.rotas.builder.core.test_published import INVENTED

IMPOSSIBLE = INVENTED.replace("Ada,E=3|L=1,1600,480", "Ada,E=3|L=1,1600,1500")


def bench(folder: Path, *more: str) -> str:
    said = StringIO()
    call_command(
        "bench_rota", str(folder), "--seconds", "20", "--out", str(folder / "out"), *more, stdout=said
    )
    return said.getvalue()


def test_each_instance_has_a_line_with_cost_best_known_and_gap(tmp_path: Path) -> None:
    (tmp_path / "Instance1.txt").write_text(INVENTED)
    (tmp_path / "Instance2.txt").write_text(INVENTED)
    (tmp_path / "best_known.csv").write_text("instance,best_known\nInstance1,103\nInstance2,100\n")
    heading, first, second, mean = bench(tmp_path).splitlines()
    assert heading.split()[:4] == ["instance", "days", "staff", "cost"]
    assert first.split()[:8] == ["Instance1", "3", "2", "103", "103", "+0.00", "103", "yes"]
    assert second.split()[3:6] == ["103", "100", "+3.00"]
    assert mean == "mean gap +1.50 % over 2 instances"
    assert (tmp_path / "out" / "Instance2.csv").read_text().startswith("employee,0,1,2\n")


def test_only_chooses_instances(tmp_path: Path) -> None:
    for number in (1, 2, 11):
        (tmp_path / f"Instance{number}.txt").write_text(INVENTED)
    assert [line.split()[0] for line in bench(tmp_path, "--only", "Instance1*").splitlines()[1:]] == [
        "Instance1",
        "Instance11",
    ]


def test_an_instance_without_any_roster_ends_the_command_with_an_error(tmp_path: Path) -> None:
    (tmp_path / "Instance1.txt").write_text(IMPOSSIBLE)
    with pytest.raises(CommandError, match="1 of 1 instances have no roster that keeps the hard rules"):
        bench(tmp_path)


def test_a_broken_rule_ends_the_command_with_an_error() -> None:
    entry = Entry("Instance1", problem_of(parsed("invented", INVENTED)), None)
    broken = Result(entry, None, None, False, 1.0, ("Ada works E on day 2 (Wed 2024-01-03), a day off.",))
    with pytest.raises(CommandError, match="1 of 1"):
        Command(stdout=StringIO()).sum_up([broken])


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (["--seconds", "0"], "--seconds must be above 0"),
        (["--workers", "0"], "--workers at least 1"),
        (["--only", "5"], "holds no instance named by 5"),
    ],
)
def test_what_cannot_be_run_is_said(tmp_path: Path, arguments: list[str], sentence: str) -> None:
    (tmp_path / "Instance1.txt").write_text(INVENTED)
    with pytest.raises(CommandError, match=sentence):
        bench(tmp_path, *arguments)


def test_a_missing_folder_is_said(tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="is not a folder"):
        call_command("bench_rota", str(tmp_path / "none"), "--out", str(tmp_path / "out"))
