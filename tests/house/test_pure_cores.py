"""The cores can be read, tested and used without the web, the database or the queue."""

import subprocess
import sys

import pytest

CORES = [
    "rotas.builder",
    "rotas.rest",
    "rotas.fatigue",
    "rotas.fatigue_report",
    "rotas.calendar",
    "rotas.channels",
    "cases.triage",
    "cases.withdrawal",
    "cases.medicines",
    "cases.followups",
    "cases.reminding",
    "cases.records",
    "cases.procedures",
    "cases.exchange",
    "dispatch.planner",
    "dispatch.simulate",
    "dispatch.travel",
]
FRAMEWORKS = ("django", "rest_framework", "celery", "kombu", "psycopg", "redis")
LOAD_ALL = """
import importlib, pkgutil, sys
core = importlib.import_module(sys.argv[1])
modules = [module.name for module in pkgutil.walk_packages(core.__path__, core.__name__ + ".")]
for name in modules:
    importlib.import_module(name)
print(len(modules), *sorted({name.partition(".")[0] for name in sys.modules} & set(sys.argv[2:])))
"""


@pytest.mark.parametrize("core", CORES)
def test_a_fresh_interpreter_loads_the_core_and_no_framework(core: str) -> None:
    done = subprocess.run(
        [sys.executable, "-c", LOAD_ALL, core, *FRAMEWORKS], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    modules, *frameworks = done.stdout.split()
    assert int(modules) > 0
    assert frameworks == []
