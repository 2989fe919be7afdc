"""Addresses for calendar programs: made, revoked, and read without a sign-in."""

import hashlib
import secrets
from collections.abc import Sequence
from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import Count, Max

from rotas import audit
from rotas.access import find, require_here, require_role, vet_of
from rotas.calendar.writer import CalendarDuty, written
from rotas.errors import AlreadyDone, BadInput, DeskError, NotAllowed, NotFound
from rotas.models import CalendarFeed, Member, Practice, Role, Shift, Vet

MOST_OPEN = 10  # addresses of one member; who needs more has lost some
LONGEST_USE = 60  # characters
BACK = timedelta(days=62)  # what was is told for two months
OFF_TOLD = timedelta(days=7)  # a duty taken off is told as such for a week, then left out
READ_AGAIN = timedelta(minutes=15)  # a reading is written down at most this often
LETTERS = frozenset("0123456789abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ-_")


class TooManyCalendars(DeskError):
    """A member has as many open addresses as anybody can need."""

    code = "too_many_calendars"
    message = "You have {most} open calendar addresses. Revoke one that is no longer used, then make another."


@transaction.atomic
def make_calendar(
    *, practice: Practice, vet: Vet | None, actor: Member, now: datetime, used_for: str = ""
) -> tuple[CalendarFeed, str]:
    """Make an address for a vet's duties, or for everyone's; return it with its secret.

    The secret is told this once. A vet's own duties are for that vet and the managers.
    """
    require_here(actor, practice.pk, Role.RECEPTION, Role.VET, Role.MANAGER)
    _require_theirs(vet, actor)
    if len(used_for) > LONGEST_USE:
        raise BadInput(field="used_for", problem=f"write at most {LONGEST_USE} letters.")
    Member.objects.select_for_update().get(pk=actor.pk)  # two at once count one another
    if CalendarFeed.objects.for_practice(practice).open().filter(made_by=actor).count() >= MOST_OPEN:
        raise TooManyCalendars(most=MOST_OPEN)
    secret = secrets.token_urlsafe(32)
    feed = CalendarFeed.objects.create(
        practice=practice, vet=vet, secret_hash=_digest(secret), used_for=used_for, made_by=actor, made_at=now
    )
    _tell(feed, now, actor, "calendar_made", f"{actor} made a calendar address for {feed}")
    return feed, secret


def _require_theirs(vet: Vet | None, actor: Member) -> None:
    if vet is None:
        return
    if vet.practice_id != actor.practice_id or not vet.active:
        raise NotFound(what="vet")
    if vet.member_id != actor.pk:
        require_role(actor, Role.MANAGER)


@transaction.atomic
def revoke_calendar(*, feed_id: int, actor: Member, now: datetime) -> CalendarFeed:
    """Close an address for good: its maker may, the vet whose duties it shows, and any manager."""
    rows = CalendarFeed.objects.select_for_update(of=("self",)).select_related("vet__member", "practice")
    feed = find(rows, pk=feed_id, practice=actor.practice, what="calendar")
    if actor.pk not in (feed.made_by_id, feed.vet.member_id if feed.vet else None):
        require_role(actor, Role.MANAGER)
    if feed.revoked_at is not None:
        raise AlreadyDone(state="revoked")
    feed.revoked_at = now
    feed.save(update_fields=["revoked_at"])
    _tell(feed, now, actor, "calendar_revoked", f"{actor} revoked a calendar address for {feed}")
    return feed


def _tell(feed: CalendarFeed, now: datetime, actor: Member, verb: str, sentence: str) -> None:
    audit.record(
        practice=feed.practice, at=now, verb=verb, subject=feed, sentence=sentence, actor=actor,
        after={"vet": feed.vet_id, "used_for": feed.used_for},
    )  # fmt: skip


def read_calendar(secret: str, *, now: datetime) -> bytes:
    """Return what the address shows; NotFound for one that never was, is revoked, or whose people are gone.

    The secret is looked up by its digest, so how long the look takes tells nothing of it.
    """
    if len(secret) > 128 or not LETTERS.issuperset(secret):
        raise NotFound(what="calendar")
    rows = CalendarFeed.objects.open().select_related("practice", "vet__member")
    feed = rows.filter(secret_hash=_digest(secret)).first()
    if feed is None:
        raise NotFound(what="calendar")
    _write_down_reading(feed, now)
    name = f"{feed.vet.name}, on duty" if feed.vet else f"{feed.practice.name}, rota"
    return written(name, duties_told(feed, now), feed.practice.tz, now)


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()


def _write_down_reading(feed: CalendarFeed, now: datetime) -> None:
    if not feed.was_read_after(now - READ_AGAIN):
        CalendarFeed.objects.filter(pk=feed.pk).update(last_read_at=now)


def duties_told(feed: CalendarFeed, now: datetime) -> list[CalendarDuty]:
    """Return the duties of a feed from two months back on, with how often each was changed.

    What was taken off lately is told as taken off, unless somebody stands in its place: in a vet's own feed
    the vet on another duty at that time, in everyone's another vet in that role too.
    """
    rows = Shift.objects.for_practice(feed.practice).filter(period__endswith__gt=now - BACK)
    rows = rows.filter(vet=feed.vet) if feed.vet else rows
    shifts = list(
        rows.exclude(ended_at__lte=now - OFF_TOLD)
        .select_related("vet__member")
        .annotate(versions=Count("events"), changed_at=Max("events__pgh_created_at"))
    )
    standing = [shift for shift in shifts if shift.ended_at is None]
    told = standing + [shift for shift in shifts if shift.ended_at and not _replaced(shift, standing)]
    return [_told(shift, shift.versions - 1, shift.changed_at, feed) for shift in told]


def _replaced(taken_off: Shift, standing: Sequence[Shift]) -> bool:
    return any(
        (shift.vet_id == taken_off.vet_id or shift.role == taken_off.role)
        and shift.starts_at < taken_off.ends_at
        and taken_off.starts_at < shift.ends_at
        for shift in standing
    )


def _told(shift: Shift, changes: int, changed_at: datetime, feed: CalendarFeed) -> CalendarDuty:
    return CalendarDuty(
        key=f"{feed.practice.slug}/shift/{shift.pk}",
        role=shift.get_role_display(),
        start=shift.starts_at,
        end=shift.ends_at,
        changed_at=changed_at,
        changes=changes,
        person="" if feed.vet else shift.vet.name,
        taken_off=shift.ended_at is not None,
    )


def calendars_of(member: Member) -> list[CalendarFeed]:
    """Return the open addresses that a member may revoke, the newest first."""
    rows = CalendarFeed.objects.for_practice(member.practice).open().select_related("vet__member", "made_by")
    if not member.holds(Role.MANAGER):
        rows = rows.filter(made_by=member) | rows.filter(vet__member=member)
    return list(rows.order_by("-made_at", "-pk"))


def own_vet(member: Member) -> Vet | None:
    """Return the member's own row among the vets, if they attend."""
    try:
        return vet_of(member)
    except NotAllowed:
        return None
