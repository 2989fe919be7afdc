#!/usr/bin/env python
"""Run a management command; ``manage.py help`` lists them, ``manage.py demo`` starts the whole site."""

import os
import sys

from dispatch.serve.environment import join_running_demo


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "dispatch.settings")
    if sys.argv[1:2] == ["demo"]:  # before the settings: it starts the servers they name
        from dispatch.serve.demo import main as demo

        sys.exit(demo(sys.argv[2:]))
    join_running_demo(os.environ)
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
