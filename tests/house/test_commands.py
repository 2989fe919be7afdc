"""Commands that the README names, on a fresh checkout with nothing in the environment."""

import os
import subprocess
import sys

import pytest

from dispatch.serve.folder import CHECKOUT


@pytest.mark.parametrize(
    "command", [["bench_nights", "--sizes", "8x3", "--nights", "1", "--no-rivals"], ["help"]]
)
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
