"""When a reminder goes out: early enough to act on, and at an hour at which somebody may be told."""

from datetime import date, datetime, time, timedelta, tzinfo

from cases.withdrawal.clock import local_moment
from rotas.quiet import Quiet

DAY_FROM, DAY_UNTIL = time(6), time(20)  # a reminder goes between these, whatever the quiet hours [cp]
AT_ONCE_UNTIL = time(21)  # a date that became later is told at once from DAY_FROM until here [cp]
BEFORE_MILKING = timedelta(hours=2)  # one to three hours before it [cp]
EARLIEST, LATEST = timedelta(hours=3), timedelta(hours=1)
EVENING = time(19)  # the evening before, between 18:00 and 20:00 [cp]
EVENING_LEAD = timedelta(hours=1)  # or this long before the quiet hours begin, if that is sooner [cp]
MORNING = time(9)  # of the first day on which meat or eggs may be sold, and of news that can wait [cp]
BEFORE_CLEAR_DAYS = 3  # a sale has been entered: this many days before the first day as well [cp]


def may_tell(instant: datetime, quiet: Quiet) -> bool:
    """Say whether a reminder may go at this instant."""
    clock = instant.astimezone(quiet.tz).time()
    return DAY_FROM <= clock < DAY_UNTIL and not quiet.holds(instant)


def next_telling(instant: datetime, quiet: Quiet) -> datetime:
    """Return the instant, or the next one at which a reminder may go."""
    moment = quiet.after(instant)
    if may_tell(moment, quiet):
        return moment
    local = moment.astimezone(quiet.tz)
    day = local.date() if local.time() < DAY_FROM else local.date() + timedelta(days=1)
    return quiet.after(local_moment(day, DAY_FROM, quiet.tz))


def before_milking(milking: datetime, quiet: Quiet, now: datetime) -> datetime:
    """Return when to tell of the first milking that may be sold.

    One to three hours before it, nearest to two; where all of that is night, the evening before.
    """
    wished = milking - BEFORE_MILKING
    for moment in (wished, next_telling(wished, quiet), milking - EARLIEST):
        if milking - EARLIEST <= moment <= milking - LATEST and may_tell(moment, quiet):
            return not_past(moment, quiet, now)
    return not_past(evening_before(milking - EARLIEST, quiet), quiet, now)


def evening_before(moment: datetime, quiet: Quiet) -> datetime:
    """Return the last evening hour, 19:00 or sooner, that comes before the moment."""
    day = moment.astimezone(quiet.tz).date()
    evenings = (_evening(day - timedelta(days=back), quiet) for back in (0, 1))
    return next(each for each in evenings if each < moment)


def day_before(day: date, quiet: Quiet) -> datetime:
    """Return the evening of the day before: a collection or a sale is warned of then."""
    return _evening(day - timedelta(days=1), quiet)


def _evening(day: date, quiet: Quiet) -> datetime:
    """Return 19:00, or an hour before the quiet hours that would hold it."""
    evening = local_moment(day, EVENING, quiet.tz)
    last = evening + EVENING_LEAD
    if not quiet.holds(last) and not quiet.holds(evening):
        return evening
    return min(evening, quiet.before(last, lead=EVENING_LEAD), quiet.before(evening, lead=EVENING_LEAD))


def on_first_day(day_starts: datetime, quiet: Quiet, now: datetime) -> datetime:
    """Return 09:00 on the local day that starts then: meat or eggs may be sold from that day on."""
    return not_past(morning_of(day_starts.astimezone(quiet.tz).date(), quiet.tz), quiet, now)


def days_before_clear(day_starts: datetime, quiet: Quiet, now: datetime) -> datetime:
    """Return 09:00 three days before the first day: a sale has been entered."""
    day = day_starts.astimezone(quiet.tz).date() - timedelta(days=BEFORE_CLEAR_DAYS)
    return not_past(morning_of(day, quiet.tz), quiet, now)


def next_morning(quiet: Quiet, now: datetime) -> datetime:
    """Return 09:00 on the next local day: a date that became shorter is told in no hurry."""
    day = now.astimezone(quiet.tz).date() + timedelta(days=1)
    return next_telling(morning_of(day, quiet.tz), quiet)


def lengthened(quiet: Quiet, now: datetime) -> datetime:
    """Return when a date that became later is told: at once from 06:00 to 21:00, else in the morning.

    This goes before the practice's own quiet hours; in the night between, people are rung.
    """
    local = now.astimezone(quiet.tz)
    if DAY_FROM <= local.time() < AT_ONCE_UNTIL:
        return now
    day = local.date() if local.time() < DAY_FROM else local.date() + timedelta(days=1)
    return local_moment(day, DAY_FROM, quiet.tz)


def for_recheck(due_at: datetime, quiet: Quiet, now: datetime) -> datetime:
    """Return when to remind of a check: when it is due, or before the night that it falls in."""
    if may_tell(due_at, quiet):
        return not_past(due_at, quiet, now)
    evening = evening_before(due_at, quiet)
    return evening if evening >= now else next_telling(max(due_at, now), quiet)


def month_mark(started: datetime, tz: tzinfo, now: datetime) -> datetime | None:
    """Return 09:00 on the latest monthly day of a long hold that has begun, None in its first month.

    A hold that began on the 31st is told on the last day of shorter months.
    """
    first, today = started.astimezone(tz).date(), now.astimezone(tz).date()
    months = (today.year - first.year) * 12 + today.month - first.month
    for count in (months, months - 1):
        if count > 0 and (mark := morning_of(_months_on(first, count), tz)) <= now:
            return mark
    return None


def _months_on(day: date, count: int) -> date:
    year, month = divmod(day.month - 1 + count, 12)
    start = date(day.year + year, month + 1, 1)
    following = date(start.year + start.month // 12, start.month % 12 + 1, 1)
    return start.replace(day=min(day.day, (following - start).days))


def morning_of(day: date, tz: tzinfo) -> datetime:
    """Return 09:00 of a local day."""
    return local_moment(day, MORNING, tz)


def not_past(moment: datetime, quiet: Quiet, now: datetime) -> datetime:
    """Return the moment, or the next telling hour from now where it has passed."""
    return next_telling(max(moment, now), quiet)
