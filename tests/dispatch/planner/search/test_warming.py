"""The compiler stays out of processes that never plan, and compiles once where it is wanted."""

import fcntl
import os
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from dispatch.planner import search
from dispatch.planner.search.anneal import anneal
from dispatch.planner.search.compiled import compiled
from dispatch.planner.search.first import append_all
from dispatch.planner.search.moves import below
from dispatch.planner.search.warm import is_warm, one_process
from rotas.compiling import Compiler, kept_in
from tests.dispatch.planner.home_care.days import DAY

SITE = "import django; django.setup(); import dispatch.urls, dispatch.asgi, dispatch.wsgi, dispatch.celery"
NIGHT = "import dispatch.planner.night, dispatch.planner.solve, dispatch.planner.looking"


def told(code: str, **environment: str) -> str:
    """What a fresh interpreter prints."""
    done = subprocess.run(
        [sys.executable, "-c", code],
        env=os.environ | environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


@pytest.mark.parametrize("imports", [SITE, NIGHT])
def test_neither_the_site_nor_the_planner_loads_the_compiler(imports: str) -> None:
    assert told(f"{imports}; import sys; print('numba' in sys.modules)") == "False"


def test_a_plan_made_before_the_search_is_ready_does_without_it() -> None:
    code = (
        "import sys; from dispatch.planner.invented_nights import night;"
        "from dispatch.planner.night import plan_night; from dispatch.planner.parameters import *;"
        "plan = plan_night(night(1, 5, 2), SolverParameters(time_limit_s=1, deterministic_time=0.1));"
        "print(len(plan.routes), 'numba' in sys.modules)"
    )
    assert told(code) == "2 False"


def test_the_search_is_ready_once_it_has_been_warmed() -> None:
    code = "from dispatch.planner.search.warm import *; print(is_warm()); warm(); print(is_warm())"
    assert told(code).split() == ["False", "True"]
    assert is_warm()


def test_nothing_is_left_to_compile_for_nights_or_home_care() -> None:
    from dispatch.planner.home_care.solving import board_of
    from dispatch.planner.search.improve import Heat, improved
    from dispatch.planner.search.start import appended

    board = board_of(DAY)
    improved(board, appended(board, range(3)), Heat(1.0, 0.1), 0.0, 1, 1, rounds=100)
    assert [len(each.signatures) for each in (anneal, append_all)] == [1, 1]


def test_while_one_process_compiles_another_waits() -> None:
    place = compiled.folder / "compiling"
    with one_process(), place.open("w") as other, pytest.raises(BlockingIOError):
        fcntl.flock(other, fcntl.LOCK_EX | fcntl.LOCK_NB)
    with place.open("w") as other:
        fcntl.flock(other, fcntl.LOCK_EX | fcntl.LOCK_NB)


def test_a_folder_that_cannot_be_written_keeps_nothing_and_stops_nothing(tmp_path: Path) -> None:
    """A file stands where the folder would be, which stops root too."""
    (tmp_path / "file").write_text("")
    code = (
        "import numpy as np; from dispatch.planner.search.compiled import compiled;"
        "from dispatch.planner.search.moves import below; from dispatch.planner.search.warm import *;"
        "print(compiled.keeps, below(np.array([5]), 1))\n"
        "with one_process(): print('goes on')"
    )
    assert told(code, NUMBA_CACHE_DIR=str(tmp_path / "file" / "cache")) == "False 0\ngoes on"
    assert os.listdir(tmp_path) == ["file"]


def test_what_is_compiled_is_kept_where_the_variable_says(tmp_path: Path) -> None:
    code = "import numpy; from dispatch.planner.search.moves import below; print(below(numpy.array([5]), 1))"
    assert told(code, NUMBA_CACHE_DIR=str(tmp_path)) == "0"
    (folder,) = tmp_path.iterdir()
    assert folder.name == compiled.folder.name
    assert [*folder.rglob("*.nbc")]


def test_any_change_of_any_source_makes_a_new_folder(tmp_path: Path) -> None:
    sources = tmp_path / "search"
    shutil.copytree(Path(search.__file__).parent, sources, ignore=shutil.ignore_patterns("__pycache__"))
    names = [kept_in(sources).name]
    for path in sorted(sources.glob("*.py")):
        path.write_text(path.read_text() + "\n")
        names.append(kept_in(sources).name)
    assert names[0] == compiled.folder.name
    assert len(set(names)) == len(names) > 10


def test_two_packages_loaded_in_turn_each_keep_in_their_own_folder(tmp_path: Path) -> None:
    one, other = (Compiler(folder(tmp_path, name)) for name in ("one", "other"))
    for compiler in (one, other, one):
        compiler(below.py_func)(np.array([5]), 1)
    assert [len({*each.folder.rglob("*.nbi")}) for each in (one, other)] == [1, 1]


def folder(above: Path, name: str) -> Path:
    (above / name).mkdir()
    return above / name
