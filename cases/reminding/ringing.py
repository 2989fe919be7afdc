"""When somebody of the practice has to ring, because a message alone is not enough."""

from datetime import datetime, timedelta

from cases.reminding.times import AT_ONCE_UNTIL, DAY_FROM
from rotas.quiet import Quiet

BEFORE = timedelta(hours=2)  # what nobody has read is rung this long before the milking [cp]
TIME_TO_READ = timedelta(minutes=30)  # after the message, before it is rung in the evening [cp]
MEAT_ALONE = timedelta(hours=24)  # what was given, where no milk is at stake: read within a day [cp]
TRIES = 2  # calls that reached nobody; then a vet and a manager are told [cp]


def ring_at(use_at: datetime, told_at: datetime, quiet: Quiet, *, dangerous: bool) -> datetime | None:
    """Return from when a message that nobody has read is rung about; None: never.

    `use_at` is the milking, the collection or the sale that it is about. Two hours before that; where
    that is night, in the evening before the quiet hours begin. What was told too late for the evening
    is rung at night only where produce is `dangerous`: about to be used though it must not be.
    """
    if use_at <= told_at:
        return None
    moment = max(use_at - BEFORE, told_at)
    if not quiet.holds(moment):
        return moment
    evening = quiet.before(moment, lead=TIME_TO_READ)
    if evening >= told_at + TIME_TO_READ:
        return evening
    return moment if dangerous else None


def rings_tonight(milking: datetime | None, quiet: Quiet, now: datetime) -> bool:
    """Say whether a date that became later is rung now: it is night, and the milk is soon to be used.

    That is when a milking comes before anybody has read the morning's message.
    """
    clock = now.astimezone(quiet.tz).time()
    if DAY_FROM <= clock < AT_ONCE_UNTIL or milking is None:
        return False
    morning = Quiet(quiet.tz, AT_ONCE_UNTIL, DAY_FROM).after(now)
    return now <= milking < morning + BEFORE
