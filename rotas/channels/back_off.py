"""How long a message waits after a failed try."""

from datetime import timedelta
from random import Random

PAUSES_MIN = (1, 5, 15, 60, 180)  # after the first, second, ... failed try [cp]; then it has failed
SPREAD = 0.25  # of the pause, to either side, so that a thousand messages do not come back together [cp]
LONGEST = timedelta(hours=6)  # that a gateway may ask us to wait


def pause_after(tries: int, *, seed: str, asked: timedelta | None = None) -> timedelta | None:
    """Return the pause after so many failed tries, or None when it was the last.

    The same seed (the message's own id) gives the same pause for the same try, so that a drill can
    be repeated. `asked` is how long the gateway wants to be left alone; it lengthens a pause only.
    """
    if tries > len(PAUSES_MIN):
        return None
    share = Random(f"{seed}:{tries}").uniform(1 - SPREAD, 1 + SPREAD)
    pause = timedelta(minutes=PAUSES_MIN[max(tries, 1) - 1]) * share
    return max(pause, min(asked, LONGEST)) if asked else pause
