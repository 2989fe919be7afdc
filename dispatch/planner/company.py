"""What a route with a shared job costs at least beyond itself: its common start and its company.

The reduced costs of a whole plan add up. So a route that takes part in a shared start must stay
within the margin together with that start's own reduced cost and with the cheapest route of any
other vet for the same start. Charging both to the route's duals lists far fewer routes, and none
too few.
"""

import math
from collections.abc import Mapping

import numpy as np

from dispatch.planner.choices import Row, Start
from dispatch.planner.pricing import Pricing
from dispatch.planner.rows import may_be_short
from dispatch.planner.tables import VetTable

DualsByVet = Mapping[str, dict[Row, float]]
NEVER = 1e15


def duals_with_company(pricing: Pricing, margin: float) -> DualsByVet:
    """Per vet the duals from which the price of start and company has been taken."""
    lone = dict(pricing.duals)
    if not pricing.starts:
        return {table.vet.id: lone for table in pricing.tables}
    own = {
        (job, start.row): _start_price(pricing, start)
        for job, starts in pricing.starts.items()
        for start in starts
    }
    for (_, row), price in own.items():
        lone[row] -= price
    cheapest = {table.vet.id: _cheapest(pricing, table, lone, margin) for table in pricing.tables}
    duals: dict[str, dict[Row, float]] = {}
    for vet in cheapest:
        duals[vet] = dict(lone)
        for (job, row), price in own.items():
            if not may_be_short(pricing.problem, pricing.problem.job_by_id[job]):
                company = min(
                    (found.get(row, math.inf) for other, found in cheapest.items() if other != vet),
                    default=math.inf,
                )
                duals[vet][row] -= min(NEVER, max(0.0, company - price))
    return duals


def _start_price(pricing: Pricing, start: Start) -> float:
    """The reduced cost of choosing this common start; never below nothing."""
    side = next(side for side in pricing.rows.sides if side.adds.get(start.row) == -2)
    return max(0.0, side.cost - sum(count * pricing.duals[row] for row, count in side.adds.items()))


def _cheapest(pricing: Pricing, table: VetTable, duals: dict[Row, float], margin: float) -> dict[Row, float]:
    """For each start of a shared job the least reduced cost of this vet's routes that take it."""
    found = pricing.search(table, margin, duals=duals)
    if not found.complete:
        return {start.row: 0.0 for starts in pricing.starts.values() for start in starts}
    least: dict[Row, float] = {}
    for row in np.argsort(-found.reduced, kind="stable"):
        for move in found.moves(table, int(row)):
            if move.start.row in duals:
                least[move.start.row] = float(found.reduced[row])
    return least
