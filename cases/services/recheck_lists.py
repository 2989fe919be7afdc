"""Who has what to check, and when: the lists of the desk and of each vet. Reads only."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Prefetch, Q, QuerySet

from cases.followups.order import Desk, is_pointless, is_silent, list_of, weight
from cases.models import (
    BookedState,
    Recheck,
    RecheckAnswer,
    RecheckAttempt,
    RecheckState,
    Visit,
)
from rotas.models import Practice, Vet

COMING = timedelta(days=7)


@dataclass(frozen=True)
class Owed:
    """One recheck as a list shows it."""

    recheck: Recheck
    desk: Desk
    due_at: datetime
    overdue: bool
    pointless: bool
    visit: Visit | None


def owed(practice: Practice, now: datetime) -> list[Owed]:
    """Return everything overdue, however old, and what is due in the coming week.

    What cannot wait comes first, then what is overdue by importance and age, then the rest by time.
    """
    rows = with_all(Recheck.objects.for_practice(practice)).filter(state=RecheckState.DUE)
    wanted = rows.filter(Q(due_at__lt=now + COMING) | Q(escalated_at__isnull=False))
    return sorted((_owed(row, now) for row in wanted), key=_order)


def owed_by(vet: Vet, now: datetime) -> list[Owed]:
    """Return the calls that this vet has to make, and what was put before them."""
    mine = Q(caller=vet, who="vet_phone") | Q(escalated_to=vet)
    rows = with_all(Recheck.objects.for_practice(vet.practice)).filter(mine, state=RecheckState.DUE)
    wanted = rows.filter(Q(due_at__lt=now + COMING) | Q(escalated_to=vet))
    return sorted((_owed(row, now) for row in wanted), key=_order)


def by_list(rows: Iterable[Owed]) -> list[tuple[Desk, list[Owed]]]:
    """Return the lists that hold something, in the order in which they are worked."""
    found: dict[Desk, list[Owed]] = defaultdict(list)
    for row in rows:
        found[row.desk].append(row)
    return [(desk, found[desk]) for desk in Desk if found[desk]]


def waiting(practice: Practice) -> QuerySet[Recheck]:
    """Return what waits for something to happen first, by farm."""
    rows = with_all(Recheck.objects.for_practice(practice)).filter(state=RecheckState.WAITING_FOR_ANCHOR)
    return rows.order_by("location__name", "visit", "step")


def with_all(rows: QuerySet[Recheck]) -> QuerySet[Recheck]:
    """Return the rows with everything that is shown of one, in a fixed number of queries."""
    tries = RecheckAttempt.objects.select_related("by").order_by("at", "pk")
    answers = RecheckAnswer.objects.select_related("heard_by").order_by("at", "pk")
    visits = Visit.objects.standing().select_related("vet__member")
    return rows.select_related(
        "practice",
        "location__client",
        "animal",
        "visit__vet__member",
        "caller__member",
        "escalated_to__member",
        "booked__vet__member",
    ).prefetch_related(
        Prefetch("attempts", tries),
        Prefetch("answers", answers),
        Prefetch("booked__visits", visits),
        "location__client__phones",
    )


def _owed(recheck: Recheck, now: datetime) -> Owed:
    due_at = recheck.due_at
    assert due_at is not None
    escalated = recheck.escalated_at is not None
    silent = is_silent(recheck.who, due_at, now) and not recheck.answers.all()
    desk = list_of(recheck.who, escalated=escalated, nobody_rings=recheck.caller_id is None, silent=silent)
    pointless = is_pointless(recheck.importance, due_at, now)
    return Owed(recheck, desk, due_at, _is_overdue(recheck, due_at, now), pointless, _visit(recheck))


def _is_overdue(recheck: Recheck, due_at: datetime, now: datetime) -> bool:
    """A booked visit is overdue when its window has closed, everything else when its time is past."""
    booked = recheck.booked
    if booked is not None and booked.state != BookedState.CANCELLED:
        return bool(booked.window.upper <= now)
    return due_at < now


def _visit(recheck: Recheck) -> Visit | None:
    return next(iter(recheck.booked.visits.all()), None) if recheck.booked else None


def _order(row: Owed) -> tuple[bool, tuple[bool, int, datetime], int]:
    escalated = row.recheck.escalated_at is not None
    importance = row.recheck.importance if row.overdue or escalated else "must"
    return not (row.overdue or escalated), weight(importance, row.due_at, escalated=escalated), row.recheck.pk
