"""Keep a set of processes running: in order, again when one ends, and none after us."""

import signal
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType

from dispatch.serve.child import Child
from dispatch.serve.errors import ServeError

LOOK_S = 0.02  # seconds between two looks at something that is awaited
KEEP_S = 0.2  # seconds between two looks at what should just run
FIRST_PAUSE_S, LONGEST_PAUSE_S = 0.5, 10
TOO_OFTEN, WITHIN_S = 5, 60  # ends of one process, and the seconds they fall in
STOP_SIGNALS = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)


class Stopped(Exception):
    """Somebody asked us to stop."""


class Keeper:
    """One child and when it ended, so that it comes back with growing pauses, or not at all."""

    def __init__(self, child: Child) -> None:
        self.child = child
        self.ends: list[float] = []
        self.due: float | None = None

    def look(self, now: float, say: Callable[[str], None]) -> None:
        """Notice an end, or start again what is due; ``now`` is in monotonic seconds."""
        if self.due is not None and now >= self.due:
            self.due = None
            self.child.start()
        elif self.due is None and self.child.ended is not None:
            self._note_end(now, say)

    def _note_end(self, now: float, say: Callable[[str], None]) -> None:
        self.ends = [end for end in self.ends if now - end < WITHIN_S] + [now]
        news = f"{self.child.name} ended by itself ({meaning(self.child.ended)})"
        words = self.child.last_words()
        if len(self.ends) >= TOO_OFTEN:
            raise ServeError(f"{news}, {TOO_OFTEN} times within {WITHIN_S} s; stopping.\n{words}".strip())
        pause = min(FIRST_PAUSE_S * 2 ** (len(self.ends) - 1), LONGEST_PAUSE_S)
        say(f"{news}; starting it again in {pause:g} s. {words}".strip())
        self.due = now + pause


def meaning(status: int | None) -> str:
    """Return an exit status in words."""
    if status is not None and status < 0:
        return f"signal {signal.Signals(-status).name}"
    return f"exit status {status}"


class Supervisor:
    """Starts children in order, keeps them, and stops them in the opposite order.

    Use it as a context: whatever ends the block, every child is gone after it. ``say`` takes each
    line of news for the person at the terminal.
    """

    def __init__(self, say: Callable[[str], None]) -> None:
        self.say = say
        self.keepers: list[Keeper] = []
        self.asked_to_stop = False

    def __enter__(self) -> "Supervisor":
        return self

    def __exit__(self, *_: object) -> None:
        self.stop()

    def start(self, child: Child, ready: Callable[[], bool] | None = None, within_s: float = 60) -> None:
        """Start the child and keep it; with ``ready``, return when that is true."""
        child.start()
        self.keepers.append(Keeper(child))
        if ready is not None:
            self.await_ready(child, ready, within_s)

    def await_ready(self, child: Child, ready: Callable[[], bool], within_s: float = 60) -> None:
        """Return when ``ready`` is true; refuse when the child ends before, or takes too long."""
        limit = time.monotonic() + within_s
        while not ready():
            self.pause()
            if child.ended is not None or time.monotonic() > limit:
                state = "did not get ready" if child.ended is None else f"ended ({meaning(child.ended)})"
                raise ServeError(f"{child.name} {state}.\n{child.last_words()}".strip())

    def run(self, child: Child) -> None:
        """Run a child that does its work and ends; an end other than 0 stops everything."""
        child.start()
        try:
            while child.running:
                self.pause()
        finally:
            child.ask_to_stop()
            child.stop()
        if child.ended:
            raise ServeError(f"{child.name} failed ({meaning(child.ended)}).\n{child.last_words()}".strip())

    def pause(self, seconds: float = LOOK_S) -> None:
        """Wait a moment; raise :class:`Stopped` when somebody asked us to stop."""
        if self.asked_to_stop:
            raise Stopped
        time.sleep(seconds)

    def keep(self) -> None:
        """Keep every child running until somebody asks us to stop."""
        while True:
            for keeper in self.keepers:
                keeper.look(time.monotonic(), self.say)
            self.pause(KEEP_S)

    def stop(self) -> None:
        """Stop every child, the highest tier first: a server goes when nothing uses it any more."""
        children = [keeper.child for keeper in self.keepers]
        for tier in sorted({child.tier for child in children}, reverse=True):
            leaving = [child for child in children if child.tier == tier]
            for child in leaving:
                child.ask_to_stop()
            for child in leaving:
                child.stop()
        self.keepers.clear()

    @contextmanager
    def signals(self) -> Iterator[None]:
        """Within the block, Ctrl-C, SIGTERM and a closed terminal ask for an orderly stop."""
        before = {number: signal.signal(number, self._ask) for number in STOP_SIGNALS}
        try:
            yield
        finally:
            for number, handler in before.items():
                signal.signal(number, handler)

    def _ask(self, number: int, frame: FrameType | None) -> None:
        """Stop in good order at the first request; at a second, end everything at once."""
        if self.asked_to_stop:
            for keeper in self.keepers:
                keeper.child.kill()
        self.asked_to_stop = True
