"""How long a search may look, shared by all that solves in it."""

from dataclasses import dataclass
from time import monotonic

from rotas.builder.model import Answer, Limits


@dataclass
class Budget:
    """Until when (monotonic clock) to look, and how much deterministic time may be spent, if that counts.

    `bound`: no roster has a lower price, as far as is known.
    """

    deadline: float
    effort: float | None = None
    bound: float = float("-inf")

    def left(self) -> float:
        """Seconds left; none once the deterministic time is spent."""
        if self.effort is not None and self.effort <= 0:
            return 0.0
        return max(0.0, self.deadline - monotonic())

    def limits(self, effort: float, seed: int, workers: int = 1) -> Limits:
        """What one solve may take: this much deterministic time, and no more than is left.

        Load on the machine stretches seconds, not deterministic time, so parts are sized by the latter.
        """
        most = effort if self.effort is None else min(effort, self.effort)
        return Limits(self.left(), most, workers, seed)

    def spend(self, answer: Answer) -> None:
        """Take off what a solve has taken."""
        self.use(answer.effort)

    def use(self, effort: float) -> None:
        """Take off so much deterministic time."""
        if self.effort is not None:
            self.effort -= effort
