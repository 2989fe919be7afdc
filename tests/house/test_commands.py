"""Commands that the README names, on a fresh checkout with nothing in the environment."""

import os
import subprocess
import sys

import pytest

from dispatch.serve.folder import CHECKOUT


@pytest.mark.parametrize("command", [["bench_planner", "--nights", "1", "--seconds", "2"], ["help"]])
def test_a_command_without_servers_needs_no_environment(command):
    bare = {"PATH": os.environ["PATH"]}
    ran = subprocess.run(
        [sys.executable, "manage.py", *command],
        cwd=CHECKOUT,
        env=bare,
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr
