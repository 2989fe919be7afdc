"""The cores can be read, tested and used without the web, the database or the queue."""

import subprocess
import sys
import tomllib
from pathlib import Path

CONTRACTS = tomllib.loads((Path(__file__).parents[2] / "pyproject.toml").read_text())["tool"]["importlinter"]
FRAMEWORKS = ("django", "rest_framework", "celery", "kombu", "psycopg", "redis")
LOAD_ALL = """
import importlib, pkgutil, sys
for name in sys.argv[1].split():
    core = importlib.import_module(name)
    for each in pkgutil.walk_packages(getattr(core, "__path__", []), name + "."):
        importlib.import_module(each.name)
    print(name, *sorted({module.partition(".")[0] for module in sys.modules} & set(sys.argv[2:])), sep=": ")
"""


def test_a_fresh_interpreter_loads_every_core_and_no_framework() -> None:
    """One interpreter for all, in the order of the contract: the first line that says more names the core."""
    (contract,) = (each for each in CONTRACTS["contracts"] if each["id"] == "cores")
    cores = contract["source_modules"]
    done = subprocess.run(
        [sys.executable, "-c", LOAD_ALL, " ".join(cores), *FRAMEWORKS],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.split("\n")[:-1] == cores
