"""One warning that is shown before a treatment is written down, and kept with it."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Any

DECIDES = "The attending vet decides."


class Level(StrEnum):
    """`stop` wants a reason from a vet before it is written down; `warn` is only shown."""

    WARN = "warn"
    STOP = "stop"


@dataclass(frozen=True)
class Caution:
    """`outside_label`: given like this it is outside the label, whose period no longer holds then."""

    code: str
    level: Level
    sentence: str
    source: str = ""
    mark: str = ""
    outside_label: bool = False

    @property
    def stops(self) -> bool:
        """A reason is wanted."""
        return self.level == Level.STOP

    def as_row(self) -> dict[str, Any]:
        """Return it as it is kept with the treatment."""
        return {
            "code": self.code,
            "level": self.level.value,
            "sentence": self.sentence,
            "source": self.source,
            "mark": self.mark,
            "decides": DECIDES,
        }


def most_serious_first(cautions: list[Caution]) -> tuple[Caution, ...]:
    """Return them with the stops first, otherwise in their order."""
    return tuple(sorted(cautions, key=lambda caution: not caution.stops))
