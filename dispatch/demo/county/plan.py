"""What the county's surveyor decided: settlements, bridges, and which places each road joins.

Coordinates are km east and north of the centre. British road numbers never begin with 0, so
these can't be read as real ones.
"""

from dataclasses import dataclass

Xy = tuple[float, float]


@dataclass(frozen=True)
class Settlement:
    """A town, village or hamlet and how many side streets it has."""

    name: str
    kind: str
    at: Xy
    streets: int


COUNTY = "Lisseldale"
RIVER = "River Lissel"
SETTLEMENTS = (
    Settlement("Quenbridge", "town", (-0.6, 0.7), 28),
    Settlement("Culverthwaite", "village", (-19, 11.5), 5),
    Settlement("Tibberfold", "village", (-5.6, 12.5), 6),
    Settlement("Netherfinch", "village", (18, 6.5), 6),
    Settlement("Marrowfold", "village", (-16, -4.5), 6),
    Settlement("Corrowby", "village", (-4, -14), 5),
    Settlement("Nunmarsh", "village", (17, -17), 5),
    Settlement("Skelrigg", "hamlet", (-29, 3), 2),
    Settlement("Hobbleside", "hamlet", (8, 16), 2),
    Settlement("Wexlow", "hamlet", (29, -5), 2),
    Settlement("Dunnaker", "hamlet", (-24, -18), 2),
)
PRACTICE_AT: Xy = (-1.5, 0.4)
BRIDGES = (("Quen Bridge", (0.9, 0.6)), ("Tibber Bridge", (-4, 12.6)), ("Nun Bridge", (18.6, -14.6)))


@dataclass(frozen=True)
class Road:
    """A road through places, in order: a settlement's or bridge's name, or a point."""

    highway: str
    ref: str
    through: tuple[str | Xy, ...]


ROADS = (
    Road("primary", "A019", ((-38, -9), "Marrowfold", "Quenbridge", "Quen Bridge", "Netherfinch", (38, 11))),
    Road("secondary", "B0714", ("Quenbridge", "Tibberfold", "Tibber Bridge", "Hobbleside", (12, 28))),
    Road("secondary", "B0721", ("Quenbridge", "Corrowby", (-9, -28))),
    Road("secondary", "B0733", ("Quen Bridge", "Nun Bridge", "Nunmarsh", (20, -28))),
    Road("secondary", "B0726", ("Tibberfold", "Culverthwaite", (-38, 15))),
    Road("tertiary", "", ("Marrowfold", "Culverthwaite")),
    Road("tertiary", "", ("Quenbridge", "Culverthwaite")),
    Road("tertiary", "", ("Marrowfold", "Corrowby")),
    Road("tertiary", "", ("Corrowby", "Nunmarsh")),
    Road("tertiary", "", ("Netherfinch", "Nun Bridge")),
    Road("tertiary", "", ("Netherfinch", "Hobbleside")),
    Road("tertiary", "", ("Quen Bridge", "Hobbleside")),
    Road("tertiary", "", ("Netherfinch", "Wexlow", (38, -10))),
    Road("tertiary", "", ("Wexlow", "Nun Bridge")),
    Road("tertiary", "", ("Marrowfold", "Skelrigg", (-38, 4))),
    Road("tertiary", "", ("Skelrigg", "Culverthwaite")),
    Road("tertiary", "", ("Marrowfold", "Dunnaker", (-30, -28))),
    Road("tertiary", "", ("Dunnaker", "Corrowby")),
)

LANE_ENDS, LANE_ENDS_APART_KM, LANES_FROM_EACH = 96, 3.9, 3
"""Places scattered over the county, and to how many of its fellows lanes lead from each."""


HOMES: dict[str, Xy] = {
    "V1": (-7.5, 15.5),
    "V2": (17.4, 6.9),
    "V3": (-16.8, -3.6),
    "V4": (-4.4, -13.2),
    "V5": (-18.2, 12.2),
    "V6": (-0.2, 1.2),
    "V7": (-1.1, -0.2),
    "V8": (0.2, 0.2),
    "V9": (12.5, 5.0),
}
"""Near which point each vet lives: the road nearest to it is taken."""

FARMS_BY_DRIVE = (
    (8.5, 15, 13),
    (15, 21, 15),
    (21, 29, 15),
    (29, 42, 10),
    (42, 58, 4),
    (58, 72, 3),
)
"""Farms at a drive of [from, to) minutes from the practice: from, to, how many. Sums to sixty,
with the median near 22 minutes."""

STEEPEST_COMFORT = {
    "primary": 0.035,
    "secondary": 0.05,
    "tertiary": 0.07,
    "unclassified": 0.09,
    "track": 0.12,
}
"""Slope at which a road of the class costs twice a flat one."""

REUSE = {"primary": 1.0, "secondary": 0.75, "tertiary": 0.6, "unclassified": 0.62, "track": 0.3}
"""What following a road that is already there costs, of its length."""
