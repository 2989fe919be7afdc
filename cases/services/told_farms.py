"""Putting into the outbox what a farm is told: one message to each address, and what it asks for."""

import secrets
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from hashlib import sha256

from django.db import connection

from cases.followups.codes import code_of
from cases.models import Location, Reminder, Telling
from cases.reminding.times import AT_ONCE_UNTIL, DAY_FROM
from cases.services import bundles
from cases.services.recipients import Recipient, recipients_of
from cases.services.short_words import text_of
from cases.services.standing import Judged
from rotas import outbox
from rotas.models import Channel

OPEN_FOR = timedelta(days=14)  # a page stays open this long after the last date that it tells


@dataclass
class Bundle:
    """What one address is told at one moment, and for which of it this reader's word is enough."""

    recipient: Recipient
    told: list[Judged] = field(default_factory=list)
    settles: list[Reminder] = field(default_factory=list)

    @property
    def asks(self) -> bool:
        """An answer is asked of the farm, of all but rechecks, which are answered in their own way."""
        return self.recipient.of_the_farm and any(each.reminder.recheck_id is None for each in self.told)


def tell_farm(location: Location, told: Iterable[Judged], now: datetime, *, salt: str = "") -> list[Telling]:
    """Write one message per address and return what was told; the reminders get their first message.

    `salt` names why the same is told anew, where a message before was called back.
    """
    bundles_by_address: dict[tuple[str, str], Bundle] = {}
    for each in told:
        for recipient in recipients_of(each.reminder):
            key = (recipient.channel, recipient.address)
            bundle = bundles_by_address.setdefault(key, Bundle(recipient))
            bundle.told.append(each)
            bundle.settles += [each.reminder] if recipient.decides else []
    return write_bundles(location, list(bundles_by_address.values()), now, salt=salt)


def write_bundles(location: Location, found: list[Bundle], now: datetime, *, salt: str = "") -> list[Telling]:
    """Write the messages of the bundles and what is known of each."""
    tellings = [
        _telling(location, bundle, key, now, salt)
        for bundle, key in zip(found, _next_keys(len(found)), strict=True)
    ]
    Telling.objects.bulk_create(tellings)
    for name in ("reminders", "settles"):
        _tie(name, tellings, found)
    return tellings


def _next_keys(count: int) -> list[int]:
    """Return keys for so many new rows: a message names its code before its row is written."""
    sequence = "SELECT nextval(pg_get_serial_sequence('cases_telling', 'id')) FROM generate_series(1, %s)"
    with connection.cursor() as cursor:
        cursor.execute(sequence, [count])
        return [key for (key,) in cursor.fetchall()]


def _telling(location: Location, bundle: Bundle, key: int, now: datetime, salt: str) -> Telling:
    recipient = bundle.recipient
    token = secrets.token_urlsafe(24) if bundle.asks else f"none-{key}"
    code = code_of(key) if bundle.asks else ""
    link = bundles.link_to(token) if bundle.asks else ""
    ways = {recipient.channel, recipient.other.channel if recipient.other else ""}
    message = outbox.put(
        practice=location.practice,
        key=f"reminder:{_cause(bundle, salt)}",
        channel=recipient.channel,
        address=recipient.address,
        recipient_name=recipient.name,
        subject=bundles.subject_of(location, bundle.told),
        body=bundles.body_of(location, bundle.told, code=code, link=link),
        text=text_of(location, bundle.told, code=code, link=link) if Channel.TEXT in ways else "",
        reply_code=code,
        not_before=now,
        urgent=_urgent(bundle, location, now),
        other=recipient.other,
    )
    for each in bundle.told:
        each.reminder.message = each.reminder.message or message
    return Telling(
        pk=key,
        practice=location.practice,
        location=location,
        message=message,
        token=token,
        code=code,
        asks=bundle.asks,
        told_at=now,
        expires_at=max([now, *(_last_date(each.reminder) for each in bundle.told)]) + OPEN_FOR,
    )


def _cause(bundle: Bundle, salt: str) -> str:
    """Name what is told to whom: the same reminders to the same address are told once."""
    keys = ",".join(str(key) for key in sorted(each.reminder.pk for each in bundle.told))
    recipient = bundle.recipient
    whole = f"{recipient.channel}|{recipient.address}|{keys}|{salt}"
    return f"{min(each.reminder.pk for each in bundle.told)}:{sha256(whole.encode()).hexdigest()[:24]}"


def _urgent(bundle: Bundle, location: Location, now: datetime) -> bool:
    """Say whether it may go in the quiet hours: by day to everybody, at night only to who is up."""
    clock = location.practice.local(now).time()
    by_day = DAY_FROM <= clock < AT_ONCE_UNTIL
    return any(each.reminder.urgent for each in bundle.told) and (by_day or bundle.recipient.at_night)


def _last_date(reminder: Reminder) -> datetime:
    """Return the last moment that the reminder tells of."""
    rows = [reminder.withdrawal] if reminder.withdrawal else []
    rows += list(reminder.treatment.withdrawals.all()) if reminder.treatment else []
    ends = [row.first_saleable_at or row.ends_at for row in rows]
    return max([reminder.about_at, *(end for end in ends if end is not None)])


def _tie(name: str, tellings: list[Telling], found: list[Bundle]) -> None:
    through = getattr(Telling, name).through
    pairs = zip(tellings, found, strict=True)
    through.objects.bulk_create(
        through(telling_id=telling.pk, reminder_id=reminder.pk)
        for telling, bundle in pairs
        for reminder in _tied(name, bundle)
    )


def _tied(name: str, bundle: Bundle) -> list[Reminder]:
    return bundle.settles if name == "settles" else [each.reminder for each in bundle.told]
