"""Sending the journal, in order, until all is sent or the network ends."""

from collections.abc import Iterator

from dispatch.client.errors import Broken, Refused
from dispatch.client.journal import Entry, Journal, Outcome
from dispatch.client.wire import Wire


def send_all(journal: Journal, wire: Wire) -> Iterator[Entry]:
    """Yield each entry as it is settled. Raises NoNetwork or SignInNeeded; what is left stays kept.

    A refusal settles an entry and is told; nothing is dropped in silence. An entry that breaks
    something at the practice is passed over, and tried again the next time.
    """
    broken: Broken | None = None
    for entry in journal.waiting():
        try:
            _send(entry, journal, wire)
        except Broken as error:
            broken = error
        else:
            if entry.outcome is not Outcome.WAITING:
                yield entry
    if broken is not None:
        raise broken


def _send(entry: Entry, journal: Journal, wire: Wire) -> None:
    path = entry.path
    if entry.after:
        acceptance = journal.by_key(entry.after)
        if acceptance is not None and acceptance.outcome is Outcome.WAITING:
            return
        if acceptance is None or acceptance.outcome is not Outcome.DONE:
            journal.settle(entry, Outcome.POINTLESS, "Not sent: the acceptance did not hold.")
            return
        path = path.format(visit=acceptance.told["id"])
    try:
        journal.settle(entry, Outcome.DONE, wire.post(path, entry.body, entry.key))
    except Refused as refusal:
        journal.settle(entry, Outcome.REFUSED, refusal.problem)
