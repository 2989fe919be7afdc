"""How the search cools on home-care days: found by trial on the published sets."""

from dispatch.planner.home_care.instance import Instance
from dispatch.planner.search.improve import Heat


def heat_for(instance: Instance) -> Heat:
    """Temperatures in units of the objective."""
    return Heat(hot=8.0, cold=0.08, runs=1 if len(instance.patients) > 60 else 2)
