#!/usr/bin/env python
"""Run a management command; ``manage.py help`` lists them, ``manage.py demo`` starts the whole site."""

import os
import sys

from dispatch.serve.environment import join_running_demo

# they ask no server anything, so they run on a fresh checkout without a word in the environment
WITHOUT_SERVERS = {
    "bench_home_care",
    "bench_nights",
    "bench_practice_rota",
    "bench_rota",
    "drill_reminders",
    "help",
    "makemigrations",
    "simulate",
    "spectacular",
    "verify",
}


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "dispatch.settings")
    if sys.argv[1:2] == ["demo"]:  # before the settings: it starts the servers they name
        from dispatch.serve.demo import main as demo

        sys.exit(demo(sys.argv[2:]))
    join_running_demo(os.environ)
    if sys.argv[1:2] and sys.argv[1] in WITHOUT_SERVERS and "SECRET_KEY" not in os.environ:
        os.environ.setdefault("BYRELIGHT_MODE", "demo")
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
