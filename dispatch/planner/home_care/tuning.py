"""How the search cools on home-care days: found by trial on the published sets."""

from dispatch.planner.search.improve import Heat
from dispatch.planner.search.moves import BOTH, MOVE, NEAR, SEGMENT, SWAP, SWAP_NEAR, TAILS

HEAT = Heat(hot=30.0, cold=0.1, kinds=(MOVE, NEAR, NEAR, SWAP, SWAP_NEAR, TAILS, SEGMENT, BOTH))
"""Temperatures in units of the objective, which grows by about a unit where a visit is three minutes late."""
