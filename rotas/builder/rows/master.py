"""The linear master problem over the rows known so far: a mix of rows for each person, cover with slack.

Columns and prices as Dantzig and Wolfe have them (1960, from memory); solved by GLOP, which goes on from
its last basis when rows are added.
"""

import numpy as np
from ortools.linear_solver import pywraplp

from rotas.builder.roster import LARGEST
from rotas.builder.rows.finding import price_of
from rotas.builder.rows.shape import Cover, Floats, Ints

NO_ROW = 1e5  # price of a person without a row, while none is known
WHOLE = 1.0
UNSETTLED = -2  # of a day, beside types by number and -1, off


class Master:
    """Rows by person with their shares, and the prices (duals) of cover and people after `solve`."""

    def __init__(self, cover: Cover) -> None:
        self.cover = cover
        self.solver = pywraplp.Solver.CreateSolver("GLOP")
        self.objective = self.solver.Objective()
        self.objective.SetMinimization()
        self.rows: list[list[Ints]] = [[] for _ in cover.price]
        self._known: list[set[bytes]] = [set() for _ in cover.price]
        self._shares: list[list[pywraplp.Variable]] = [[] for _ in cover.price]
        self._one = [self.solver.Constraint(WHOLE, WHOLE) for _ in cover.price]
        self._cover = {
            (int(day), int(kind)): self._held(day, kind) for day, kind in np.argwhere(cover.total >= 0)
        }
        for one in self._one:
            self._slack(one, 1, NO_ROW)

    def _held(self, day: int, kind: int) -> pywraplp.Constraint:
        most = float(self.cover.most[day, kind])
        held = self.solver.Constraint(
            float(self.cover.least[day, kind]), most if most < LARGEST else self.solver.infinity()
        )
        self._slack(held, 1, self.cover.under[day, kind])
        self._slack(held, -1, self.cover.over[day, kind])
        return held

    def _slack(self, held: pywraplp.Constraint, sign: int, price: float) -> None:
        slack = self.solver.NumVar(0, self.solver.infinity(), "")
        held.SetCoefficient(slack, sign)
        self.objective.SetCoefficient(slack, float(price))

    def add(self, place: int, row: Ints) -> bool:
        """Add a row of this person; False where it is known."""
        key = row.tobytes()
        if key in self._known[place]:
            return False
        self._known[place].add(key)
        self.rows[place].append(row)
        share = self.solver.NumVar(0, self.solver.infinity(), "")
        self._shares[place].append(share)
        self._one[place].SetCoefficient(share, 1)
        self.objective.SetCoefficient(share, price_of(self.cover.price[place], row))
        for day, kind in enumerate(row):
            if (held := self._cover.get((day, int(kind)))) is not None:
                held.SetCoefficient(share, 1)
        return True

    def solve(self, seconds: float) -> bool:
        """Find the best shares; False where there was no time for it."""
        self.solver.SetTimeLimit(max(1, int(1000 * seconds)))
        return self.solver.Solve() == pywraplp.Solver.OPTIMAL

    @property
    def cost(self) -> float:
        """What the mix costs."""
        return float(self.objective.Value()) + self.cover.base

    def prices(self) -> tuple[Floats, Floats]:
        """What one more wanted would cost, by [day, type], and what each person's row costs in the mix."""
        cover = np.zeros(self.cover.least.shape)
        for spot, held in self._cover.items():
            cover[spot] = held.dual_value()
        return cover, np.array([one.dual_value() for one in self._one])

    def largest(self, place: int) -> tuple[float, int]:
        """The person's row with the largest share, and that share."""
        shares = [share.solution_value() for share in self._shares[place]]
        at = max(range(len(shares)), key=shares.__getitem__)
        return shares[at], at

    def leading(self, place: int) -> tuple[Ints, Floats]:
        """The person's row with the largest share, and by day the share of the rows that agree with it."""
        rows, (_, at) = np.array(self.rows[place]), self.largest(place)
        shares = np.array([share.solution_value() for share in self._shares[place]])
        return rows[at], ((rows == rows[at]) * shares[:, None]).sum(axis=0)

    def keep(self, place: int, settled: Ints) -> None:
        """Let the person work only rows that are as settled, by day."""
        for row, share in zip(self.rows[place], self._shares[place], strict=True):
            if ((settled != UNSETTLED) & (row != settled)).any():
                share.SetBounds(0, 0)
