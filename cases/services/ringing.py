"""The list of whom to ring: what nobody has read in time, what could not be sent, what cannot wait."""

import logging
from collections.abc import Callable
from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import Exists, OuterRef, Q, QuerySet

from cases.models import AckHow, Location, Reminder, ReminderState, Ring, RingTry, RingWhy, Telling
from cases.models.telling import RingQuerySet
from cases.reminding.ringing import TRIES
from cases.services.herd_facts import farm_locked
from cases.services.said import required
from cases.services.standing import judged
from rotas.access import find, require_role
from rotas.errors import AlreadyDone, BadInput, FromTheFuture
from rotas.models import Member, MessageState, Practice, Role
from rotas.services.telling import tell, write_to

logger = logging.getLogger(__name__)

LONGEST_NOTE = 200
LOST = (MessageState.FAILED, MessageState.UNDELIVERED, MessageState.HELD)


def open_rings(*, now: datetime, limit: int = 200) -> int:
    """Put on the list what has to be rung by now, take off what is pointless; return how many are new.

    Safe to run twice at once and after an outage: each farm is locked, and has one entry.
    """
    farms = Location.objects.select_related("practice").order_by("pk")
    wanted = farms.filter(pk__in=_to_ring(now).values("location"))
    opened = sum(_safely(_open, location, now) for location in wanted[:limit])
    for location in farms.filter(pk__in=Ring.objects.open().values("location")):
        _safely(_close_pointless, location, now)
    return opened


def _to_ring(now: datetime) -> QuerySet[Reminder]:
    """Return what is to be rung: unread past its time, told at night only by telephone, or never sent."""
    unread = Q(state__in=(ReminderState.QUEUED, ReminderState.WAITING), ring_at__lte=now)
    lost, way = Q(settled_by__message__state__in=LOST), "settled_by__message__next_way"
    no_way_left = Q(**{f"{way}__isnull": True}) | Q(**{f"{way}__looked_at__isnull": False})
    unsent = Q(state=ReminderState.QUEUED) & lost & no_way_left
    rows = Reminder.objects.filter(acknowledged_at=None, overtaken_at=None, ring=None, recheck=None)
    told = Telling.objects.filter(settles=OuterRef("pk"), message__state=MessageState.TOLD)
    return rows.filter(unread | unsent).exclude(Exists(told))


def _safely(step: Callable[[Location, datetime], bool], location: Location, now: datetime) -> bool:
    """Keep a defect in one farm's rows from holding up every other farm's."""
    try:
        return step(location, now)
    except Exception:
        logger.exception("The list to ring could not be brought up to date for location %s.", location.pk)
        return False


@transaction.atomic
def _open(seen: Location, now: datetime) -> bool:
    location = farm_locked(seen.practice, seen.pk)
    keys = set(_to_ring(now).filter(location=location).values_list("pk", flat=True))
    found = list(Reminder.objects.select_for_update(of=("self",)).filter(pk__in=keys).order_by("pk"))
    if not found:
        return False
    by_at = min(reminder.use_at or reminder.about_at for reminder in found)
    ring = Ring.objects.open().filter(location=location).first()
    is_new = ring is None
    if ring is None:
        ring = Ring(
            practice=location.practice, location=location, why=_why(found), opened_at=now, by_at=by_at
        )
    ring.by_at = min(ring.by_at, by_at)
    ring.save()
    Reminder.objects.filter(pk__in=keys).update(ring=ring)
    kinds = ", ".join(dict.fromkeys(reminder.get_kind_display() for reminder in found))
    _tell(ring, now, "ring_opened", f"Ring {location} by {location.practice.local(by_at):%H:%M}: {kinds}")
    return is_new


def _why(found: list[Reminder]) -> str:
    if any(reminder.state == ReminderState.WAITING for reminder in found):
        return RingWhy.NIGHT
    if any(reminder.ring_at is None for reminder in found):
        return RingWhy.NOT_SENT
    failed = Reminder.objects.filter(pk__in=[each.pk for each in found])
    if failed.filter(settled_by__message__state__in=LOST).exists():
        return RingWhy.NOT_SENT
    if not failed.filter(settled_by__isnull=False).exists():
        return RingWhy.NO_ADDRESS
    return RingWhy.UNREAD


@transaction.atomic
def _close_pointless(location: Location, now: datetime) -> bool:
    """Close the entry where everything on it was read meanwhile, has changed, or no longer matters."""
    farm_locked(location.practice, location.pk)
    ring = Ring.objects.open().select_for_update(of=("self",)).filter(location=location).first()
    if ring is None:
        return False
    rows = list(ring.reminders.all())
    if not all(_is_settled(reminder, now) for reminder in rows):
        return False
    read = [reminder for reminder in rows if reminder.acknowledged_at]
    result = f"read meanwhile by {read[-1].acknowledged_by}" if read else "no longer needed: changed or past"
    ring.closed_at, ring.result = now, result
    ring.save(update_fields=["closed_at", "result"])
    _tell(ring, now, "ring_closed", f"{ring.location} need not be rung any more", reason=result)
    return True


def _is_settled(reminder: Reminder, now: datetime) -> bool:
    """Say whether nobody has to ring about it any more; that milk may be sold is no danger once it may."""
    past = reminder.kind == "milk_ends" and reminder.about_at <= now
    free = reminder.kind == "held" and not judged(reminder, now).verdict.send
    gone = reminder.state == ReminderState.CANCELLED or reminder.overtaken_at is not None
    return bool(reminder.acknowledged_at) or gone or past or free


@transaction.atomic
def tried(*, ring_id: Any, actor: Member, now: datetime, note: str) -> Ring:
    """Write a call that reached nobody. After two of them the vet who treated and the managers are told."""
    require_role(actor, Role.RECEPTION, Role.VET)
    ring = _open_ring(ring_id, actor)
    words = required(note, "note", "say what happened, such as: no answer on the house telephone.")
    RingTry.objects.create(practice=ring.practice, ring=ring, at=now, by=actor, note=words[:LONGEST_NOTE])
    _tell(ring, now, "ring_tried", f"{actor} rang {ring.location} and reached nobody", actor, words)
    if ring.escalated_at is None and ring.tries.count() >= TRIES:
        _escalate(ring, now)
    return ring


def _escalate(ring: Ring, now: datetime) -> None:
    ring.escalated_at = now
    ring.save(update_fields=["escalated_at"])
    practice = ring.practice
    by = practice.local(ring.by_at)
    body = (
        f"{TRIES} calls to {ring.location} reached nobody."
        f" They have to know by {by:%a} {by.day} {by:%b %H:%M} what must not be sold."
        " See the list to ring on the aftercare page, or drive there.\n"
    )
    for member in _who_decides(ring):
        write_to(
            member, cause=f"ring:{ring.pk}:escalated", subject=f"Nobody reached: {ring.location}",
            body=body, now=now, urgent=True,
        )  # fmt: skip
    _tell(ring, now, "ring_escalated", f"Nobody reached at {ring.location}: vet and managers are told")


def _who_decides(ring: Ring) -> list[Member]:
    """Return the vets who treated, and the practice's managers."""
    about = Q(vet__treatments__reminders__ring=ring) | Q(vet__treatments__withdrawals__reminders__ring=ring)
    treated = Member.objects.filter(about, is_active=True)
    managers = Member.objects.filter(
        practice=ring.practice_id, roles__contains=[Role.MANAGER], is_active=True
    )
    return list({member.pk: member for member in (*treated, *managers)}.values())


@transaction.atomic
def reached(
    *, ring_id: Any, actor: Member, now: datetime, who: str, told_at: datetime | None = None, result: str = ""
) -> Ring:
    """Close an entry with who was told and when; that settles everything on it."""
    require_role(actor, Role.RECEPTION, Role.VET)
    ring = _open_ring(ring_id, actor)
    name = required(who, "who", "write who was told, by name.")[:120]
    at = told_at or now
    if at > now:
        raise FromTheFuture(field="told_at")
    if at < ring.opened_at and (ring.opened_at - at).total_seconds() > 3600:
        raise BadInput(field="told_at", problem="that is more than an hour before it came on the list.")
    ring.closed_at, ring.closed_by, ring.told_whom, ring.told_at = now, actor, name, at
    ring.result = result.strip() or f"{name} was told on the telephone"
    ring.save()
    unread = ring.reminders.filter(acknowledged_at=None, overtaken_at=None)
    unread.update(acknowledged_at=at, acknowledged_by=name, acknowledged_how=AckHow.TELEPHONE)
    _tell(ring, now, "ring_answered", f"{name} of {ring.location} was told", actor, ring.result)
    return ring


def _open_ring(ring_id: Any, actor: Member) -> Ring:
    """Return the entry, its farm and itself locked; refuse one that has a result."""
    rows = Ring.objects.select_related("location", "practice")
    seen = find(rows, pk=ring_id, practice=actor.practice, what="entry on the list to ring")
    farm_locked(actor.practice, seen.location_id)
    ring = rows.select_for_update(of=("self",)).get(pk=seen.pk)
    if ring.closed_at is not None:
        raise AlreadyDone(state=ring.result)
    return ring


def to_ring_now(practice: Practice) -> RingQuerySet:
    """Return the open entries with what has to be said, the most pressing first."""
    rows = Ring.objects.for_practice(practice).open().select_related("location__client")
    return rows.prefetch_related("tries__by", "location__client__phones", "location__contacts")


def _tell(
    ring: Ring, now: datetime, verb: str, sentence: str, actor: Member | None = None, reason: str = ""
) -> None:
    tell(
        practice=ring.practice,
        now=now,
        verb=verb,
        subject=ring,
        topic="aftercare",
        actor=actor,
        sentence=sentence,
        reason=reason,
        after={"by_at": ring.by_at, "told": ring.told_whom},
    )
