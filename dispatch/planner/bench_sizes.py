"""The sizes of night that are measured, each with the seconds that the planner and others are given."""

from dataclasses import dataclass

from dispatch.planner.parameters import require


@dataclass(frozen=True)
class Size:
    """Calls and vets of a night; seconds for the planner, for its own long run, and for each rival.

    On a `small` night the proof is what is asked for: a further run of `SOON` seconds shows whether
    the best plan is there by then.
    """

    calls: int
    vets: int
    nights: int
    seconds: float
    reference_seconds: float
    rival_seconds: float
    small: bool = False

    @property
    def name(self) -> str:
        return f"{self.calls}x{self.vets}"


SOON = 0.5
PROVEN_WITHIN = (0.3, 5.0)
SIZES = {
    size.name: size
    for size in (
        Size(8, 3, 100, 5, 60, 5, small=True),
        Size(12, 4, 100, 5, 60, 5, small=True),
        Size(20, 6, 20, 2, 60, 60),
        Size(40, 10, 20, 2, 60, 60),
        Size(100, 25, 5, 10, 120, 60),
        Size(400, 100, 3, 10, 120, 60),
    )
}


def sizes_named(names: str) -> tuple[Size, ...]:
    """The sizes of "8x3,40x10", in the order given."""
    wanted = [name.strip() for name in names.split(",")]
    for name in wanted:
        require(name in SIZES, "--sizes", f"there is no size {name!r}; there are {', '.join(SIZES)}")
    return tuple(SIZES[name] for name in wanted)
