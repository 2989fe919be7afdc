"""The travel times of one practice: its roads where it has them, else the labelled guess."""

import logging
from dataclasses import replace
from datetime import UTC, tzinfo
from pathlib import Path

from dispatch.travel.greatcircle import ROAD_FACTOR, SPEED_KM_H, GreatCircleTimes
from dispatch.travel.osm import RoadsUnreadable
from dispatch.travel.roads import RoadTimes
from dispatch.travel.times import TravelTimes

log = logging.getLogger(__name__)


def travel_times(
    road_file: Path | str | None,
    *,
    zone: tzinfo = UTC,
    road_factor: float = ROAD_FACTOR,
    speed_km_h: float = SPEED_KM_H,
) -> TravelTimes:
    """Return the practice's travel times.

    A road file that cannot be read never stops a night's dispatch: the guess stands in, the
    reason is in its label and in the log.
    """
    guess = GreatCircleTimes(float(road_factor), float(speed_km_h))
    if not road_file:
        return guess
    try:
        return RoadTimes.open(Path(road_file), zone=zone, estimate=guess)
    except RoadsUnreadable as error:
        log.warning("%s Driving times are straight-line estimates until it can be read.", error)
        return replace(guess, why=f"road file {Path(road_file).name} cannot be read")
