"""What can stop a command, and the exit status that says so."""

from typing import Any


class Stop(Exception):
    """The command ends here with the sentence and the exit status."""

    status = 1


class WrongUse(Stop):
    """Something has to be said differently."""

    status = 2


class NoNetwork(Stop):
    """The practice was not reached, or something that is not the practice answered."""

    status = 3


class SignInNeeded(Stop):
    """There is no token, or it is no longer good."""

    status = 4


class Refused(Stop):
    """The practice said no. `problem` is what it said (RFC 9457)."""

    def __init__(self, problem: dict[str, Any]) -> None:
        self.problem = problem
        super().__init__(str(problem.get("detail") or problem.get("title") or "The practice said no."))

    @property
    def code(self) -> str:
        """The stable name of the refusal."""
        return str(self.problem.get("code", ""))


class TryLater(NoNetwork):
    """The practice cannot answer now; the same request may be sent again."""


class Broken(TryLater):
    """This one request broke something there. It stays kept, and does not hold up the others."""
