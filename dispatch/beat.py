"""What the clock starts, and how often.

Each entry names a task by its dotted path, the seconds between two starts, and how long a start
that nobody took stays worth running: a tick that is late is dropped, for the next one does its work.
"""

from typing import Any

SCHEDULE: dict[str, dict[str, Any]] = {}
