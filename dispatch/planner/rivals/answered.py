"""What a rival answers with."""

from dataclasses import dataclass

from dispatch.planner.draft import Draft


@dataclass(frozen=True)
class Answered:
    """A plan (None: none in its time), a proven lowest cost (None: none found), and whether they meet."""

    draft: Draft | None
    bound: int | None
    proven: bool
