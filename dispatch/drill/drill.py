"""One run of the drill: servers, workers, clocks, the faults in their order, the count."""

import time
from argparse import Namespace
from collections.abc import Callable, Mapping
from datetime import timedelta
from pathlib import Path
from threading import Event

import psycopg

from dispatch.drill.database import Database, Standing
from dispatch.drill.faults import Fault, Kind, laid_down
from dispatch.drill.sender import holder
from dispatch.drill.sink import Sink
from dispatch.drill.tally import Tally, best_rate
from dispatch.serve import programs
from dispatch.serve.account import Account
from dispatch.serve.child import Child
from dispatch.serve.errors import ServeError
from dispatch.serve.postgres import Cluster
from dispatch.serve.supervisor import Supervisor, meaning
from dispatch.serve.valkey import Broker

ASK_S = 1.0  # seconds between two looks at the database
TELL_S = 10.0  # seconds between two lines of news
REFUSED_S = 15.0  # how long the mail server refuses
HELD_S = 5.0  # how long a sender is kept waiting for the answer that it will not live to hear
BEST = timedelta(seconds=10)
THREADS = "2"  # of each worker


class Drill:
    """The drill in `folder`, which the server account may write to; `say` takes each line of news."""

    def __init__(
        self, options: Namespace, folder: Path, account: Account | None, say: Callable[[str], None]
    ) -> None:
        self.options, self.folder, self.say = options, folder, say
        self.supervisor = Supervisor(say)
        self.cluster = Cluster(folder, folder, account)
        self.broker = Broker(folder, folder, account)
        self.postgres = self.cluster.server(folder / "postgres.log")
        self.valkey = self.broker.server(folder / "valkey.log")
        self.workers: list[Child] = []
        self.done: dict[Kind, int] = dict.fromkeys(Kind, 0)
        self.fell = 0
        self._faults = list(laid_down(options.reminders, options.counts, options.seed))
        self._in_the_act = {each.after for each in self._faults if each.kind is Kind.KILL_IN_THE_ACT}
        self._caught: int | None = None
        self._gone = Event()
        self.sink = Sink(self._arrived)
        self._refuse_until = 0.0
        self._told_at = 0.0

    def run(self, inherited: Mapping[str, str]) -> Tally:
        """Do all of it and return the count."""
        with self.supervisor, self.sink:
            env = self._site(inherited)
            self.supervisor.run(self._program(env))
            self.say(f"{self.options.reminders} reminders are due; {len(self._faults)} faults are laid down.")
            started = time.monotonic()
            self._start(env)
            self._until_drained(started + self.options.limit)
            self.took = time.monotonic() - started
            return self._count()

    def _site(self, inherited: Mapping[str, str]) -> dict[str, str]:
        """Start the servers and return the environment of the site's programs."""
        self.cluster.prepare()
        self.supervisor.start(self.postgres, self.cluster.ready)
        self.supervisor.start(self.valkey, self.broker.ready)
        env = programs.environment(inherited, "127.0.0.1", "for a drill only, never on a machine of others")
        return env | {
            "DATABASE_URL": self.cluster.url,
            "REDIS_URL": self.broker.url,
            "EMAIL_URL": self.sink.url,
        }

    def _program(self, env: Mapping[str, str]) -> Child:
        log = self.folder / "load.log"
        return programs.python("loading", env, "dispatch.drill.load", str(self.options.reminders), log=log)

    def _start(self, env: Mapping[str, str]) -> None:
        for number in range(1, self.options.workers + 1):
            options = ("-Q", "messages,clock", "-P", "threads", "-c", THREADS, "-n", f"work{number}@drill")
            self.workers.append(self._child(f"worker {number}", env, "worker", *options, *programs.QUIET))
        for number in range(1, self.options.schedulers + 1):
            schedule = str(self.folder / f"schedule{number}")
            self._child(f"clock {number}", env, "beat", "-s", schedule, "--pidfile", "")

    def _child(self, name: str, env: Mapping[str, str], *arguments: str) -> Child:
        child = programs.celery(name, env, *arguments)
        child.log = self.folder / f"{name.replace(' ', '')}.log"
        self.supervisor.start(child)
        return child

    def _arrived(self, number: int, port: int) -> None:
        """In the sink's thread: keep the sender waiting where a kill in the act is laid down."""
        if number in self._in_the_act:
            self._gone.clear()
            self._caught = port
            self._gone.wait(HELD_S)

    def _until_drained(self, limit: float) -> None:
        asked, standing = 0.0, Standing(self.options.reminders, 0)
        while self._faults or self._caught is not None or not standing.done:
            self.supervisor.pause()
            now = time.monotonic()
            self._strike()
            self._mend(now)
            if now - asked >= ASK_S:
                asked, standing = now, self._standing(standing)
            self._tell(now, standing)
            if now > limit:
                self.say(f"Given up after {self.options.limit} s: {standing}.")
                return

    def _standing(self, before: Standing) -> Standing:
        try:
            return Database(self.cluster.url).standing()
        except psycopg.Error:
            return before

    def _strike(self) -> None:
        """Do what is due by the number of messages that have arrived."""
        if self._caught is not None:
            self._kill(self._sender(self._caught), Kind.KILL_IN_THE_ACT)
            self._caught = None
            self._gone.set()
        number = len(self.sink.moments)
        while self._faults and self._faults[0].after <= number:
            self._do(self._faults.pop(0))

    def _do(self, fault: Fault) -> None:
        if fault.kind is Kind.KILL:
            self._kill(self.workers[self.done[Kind.KILL] % len(self.workers)], Kind.KILL)
        elif fault.kind is Kind.BROKER:
            self.valkey.kill()
            self._again(self.valkey, self.broker.ready, Kind.BROKER)
        elif fault.kind is Kind.DATABASE:
            self.postgres.ask_to_stop()
            self._again(self.postgres, self.cluster.ready, Kind.DATABASE)
        elif fault.kind is Kind.REFUSE:
            self.sink.refusing = True
            self._refuse_until = time.monotonic() + REFUSED_S
            self.done[Kind.REFUSE] += 1

    def _sender(self, port: int) -> Child:
        """Return the worker that waits at the other end of that connection."""
        running = {child.process.pid: child for child in self.workers if child.process and child.running}
        found = holder(port, running)
        if found is None:
            raise ServeError("The sender of a message could not be found; is this Linux?")
        return running[found]

    def _kill(self, child: Child, kind: Kind) -> None:
        child.kill()
        child.stop()
        child.start()
        self.done[kind] += 1

    def _again(self, child: Child, ready: Callable[[], bool], kind: Kind) -> None:
        child.stop()
        child.start()
        self.supervisor.await_ready(child, ready)
        self.done[kind] += 1

    def _mend(self, now: float) -> None:
        """Let the mail server take mail again, and start what ended by itself, as a supervisor would."""
        if self.sink.refusing and now >= self._refuse_until:
            self.sink.refusing = False
        for keeper in self.supervisor.keepers:
            if keeper.child.ended is not None:
                self.say(
                    f"{keeper.child.name} ended by itself ({meaning(keeper.child.ended)}); started again."
                )
                keeper.child.start()
                self.fell += 1

    def _tell(self, now: float, standing: Standing) -> None:
        if now - self._told_at >= TELL_S:
            self._told_at = now
            self.say(
                f"{len(self.sink.moments):>7} arrived, {standing.waiting} reminders and {standing.unsent} "
                f"messages to go, {sum(self.done.values())} faults so far"
            )

    def _count(self) -> Tally:
        database = Database(self.cluster.url)
        messages = database.messages()
        return Tally(
            reminders=self.options.reminders,
            reminders_open=database.standing().waiting,
            told_twice=database.told_twice(),
            owed=frozenset(messages),
            unsent=frozenset(key for key, state in messages.items() if state != "sent"),
            arrived=self.sink.arrived,
        )

    @property
    def best_rate(self) -> float:
        """The most messages a second over any ten seconds."""
        return best_rate(self.sink.moments, BEST)
