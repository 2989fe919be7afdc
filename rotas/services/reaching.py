"""How a member is reached: their own ways by time of day, and the message that goes by one of them."""

from datetime import datetime, time

import phonenumbers
from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import transaction

from rotas import audit, outbox
from rotas.access import find
from rotas.channels.choice import Choice, Way, choose
from rotas.errors import BadInput, NotAllowed
from rotas.lines import usable
from rotas.models import Channel, Member, OutboxMessage, Reach, Role

BY_LINE = (Channel.EMAIL.value, Channel.TEXT.value, Channel.PUSH.value)


def ways_of(member: Member, *, urgent: bool = False) -> list[Way]:
    """Return the member's own ways. Without any: e-mail; what is urgent, by text to their telephone first."""
    own = list(Reach.objects.filter(member=member).standing())
    if own:
        return [Way(row.channel, row.address, row.from_clock, row.until_clock, row.order) for row in own]
    text = [Way(Channel.TEXT, str(member.phone.as_e164), order=1)] if member.phone and urgent else []
    mail = [Way(Channel.EMAIL, member.email, order=2)] if member.email else []
    return [*text, *mail]


def way_for(member: Member, at: datetime, *, urgent: bool = False) -> Choice | None:
    """Return the way by which the member is reached at that moment, or None: they have to be rung."""
    practice = member.practice
    return choose(ways_of(member, urgent=urgent), practice.local(at), usable(practice), urgent=urgent)


def put_to(
    member: Member,
    *,
    key: str,
    subject: str,
    body: str,
    not_before: datetime,
    text: str = "",
    reply_code: str = "",
    urgent: bool = False,
    not_after: datetime | None = None,
) -> OutboxMessage:
    """Write a message to a member, by the way that is theirs at the time at which it goes.

    Where there is none it stands on the page of messages until somebody has rung them.
    """
    practice = member.practice
    goes = not_before if urgent else outbox.after_quiet(practice, not_before)
    choice = way_for(member, goes, urgent=urgent)
    if choice is not None and choice.opens_at is not None:
        goes = outbox.next_clock(practice, goes, choice.opens_at)
    way = choice.way if choice else Way(Channel.CALL, str(member.phone.as_e164) if member.phone else "")
    return outbox.put(
        practice=practice,
        key=key,
        channel=way.channel,
        address=way.address,
        recipient_name=member.name,
        subject=subject,
        body=body,
        text=text,
        reply_code=reply_code,
        not_before=goes,
        urgent=urgent,
        not_after=not_after,
    )


@transaction.atomic
def add_way(
    *,
    member: Member,
    actor: Member,
    now: datetime,
    channel: str,
    address: str,
    from_clock: time | None = None,
    until_clock: time | None = None,
    order: int = 1,
) -> Reach:
    """Write one way to reach a member. Everybody writes their own; a manager writes anybody's."""
    _require_own(member, actor)
    if channel not in BY_LINE:
        raise BadInput(field="channel", problem=f"say one of {', '.join(BY_LINE)}.")
    if (from_clock is None) != (until_clock is None):
        raise BadInput(field="until_clock", problem="say from when until when, or neither for any hour.")
    row = Reach.objects.create(
        practice=member.practice,
        member=member,
        channel=channel,
        address=_address(member, channel, address),
        from_clock=from_clock,
        until_clock=until_clock,
        order=order,
        made_at=now,
    )
    _record(
        row,
        actor,
        now,
        "reach_added",
        f"{member.name} is reached by {row.get_channel_display()}{_hours(row)}",
    )
    return row


@transaction.atomic
def end_way(*, reach_id: object, actor: Member, now: datetime) -> Reach:
    """Let a way stand no longer. Ending it again changes nothing."""
    rows = Reach.objects.select_for_update(of=("self",)).select_related("member", "practice")
    row = find(rows, pk=reach_id, practice=actor.practice, what="way")
    _require_own(row.member, actor)
    if row.ended_at is None:
        row.end(max(now, row.made_at))
        sentence = f"{row.member.name} is no longer reached by {row.get_channel_display()}{_hours(row)}"
        _record(row, actor, now, "reach_ended", sentence)
    return row


def _require_own(member: Member, actor: Member) -> None:
    if member.pk != actor.pk and not actor.holds(Role.MANAGER):
        raise NotAllowed(role=Role.MANAGER)


def _address(member: Member, channel: str, address: str) -> str:
    """Return the address in the form that the channel takes, or refuse it."""
    given = address.strip()
    if channel == Channel.EMAIL:
        try:
            validate_email(given)
        except ValidationError:
            raise BadInput(field="address", problem=f"{given!r} is not an e-mail address.") from None
        return given
    if channel == Channel.TEXT:
        return _number(member, given)
    if not given or len(given) > 254 or not given.isprintable():
        raise BadInput(field="address", problem="write the name under which the service knows you.")
    return given


def _number(member: Member, given: str) -> str:
    try:
        number = phonenumbers.parse(given, member.practice.country)
    except phonenumbers.NumberParseException:
        number = None
    if number is None or not phonenumbers.is_possible_number(number):
        raise BadInput(
            field="address", problem=f"{given!r} is not a telephone number; write +44 1632 960001."
        )
    return phonenumbers.format_number(number, phonenumbers.PhoneNumberFormat.E164)


def _hours(row: Reach) -> str:
    if row.from_clock is None or row.until_clock is None:
        return ""
    return f" from {row.from_clock:%H:%M} to {row.until_clock:%H:%M}"


def _record(row: Reach, actor: Member, now: datetime, verb: str, sentence: str) -> None:
    audit.record(practice=row.practice, at=now, verb=verb, subject=row, sentence=sentence, actor=actor)
