"""Residue tests: a failed one opens the end again, a clear one never shortens."""

from datetime import datetime, timedelta
from typing import Any

from django.db import transaction

from cases.access import animal_in, group_in
from cases.models import (
    Animal,
    Commodity,
    Group,
    HoldCause,
    OtherHold,
    ResidueResult,
    ResidueTest,
    Withdrawal,
    WithdrawalState,
)
from cases.services.changing import Step, apply, change_of
from cases.services.herd_facts import farm_locked
from cases.services.hold_plans import plan_held
from cases.services.known import HOLDING
from cases.services.said import required
from cases.services.withdrawing import compute_row
from cases.withdrawal.clock import shown
from rotas.access import require_role
from rotas.errors import BadInput, FromTheFuture
from rotas.models import Member, Role
from rotas.services.telling import tell

CLOCKS_MAY_DIFFER = timedelta(minutes=2)
LOOKED_BACK = timedelta(days=60)
"""A treatment that ended so long before a failed sample is not its likely cause. [cp]"""

Subject = Animal | Group


@transaction.atomic
def record_residue_test(
    *,
    actor: Member,
    now: datetime,
    commodity: str,
    taken_at: datetime,
    test: str,
    tested_by: str,
    failed: bool,
    animal_id: Any = None,
    group_id: Any = None,
    note: str = "",
) -> ResidueTest:
    """Write what a test of milk, meat or eggs said, who made it, when and which.

    A failed one takes the end away until a vet sets a new one, not before the old; where no treatment
    of ours is behind it, the produce is held all the same. The farm is told at once.
    """
    require_role(actor, Role.VET, Role.RECEPTION)
    subject = subject_of(actor, animal_id, group_id)
    if commodity not in Commodity.values:
        raise BadInput(field="commodity", problem="say milk, meat or eggs.")
    if taken_at > now + CLOCKS_MAY_DIFFER:
        raise FromTheFuture(field="taken_at")
    row = ResidueTest.objects.create(
        practice=actor.practice,
        location=subject.location,
        animal=subject if isinstance(subject, Animal) else None,
        group=subject if isinstance(subject, Group) else None,
        commodity=commodity,
        taken_at=min(taken_at, now),
        test=required(test, "test", "say which test it was."),
        tested_by=required(tested_by, "tested_by", "say who made the test."),
        result=ResidueResult.FAILED if failed else ResidueResult.CLEAR,
        note=note.strip(),
        recorded_at=now,
        recorded_by=actor,
    )
    if failed:
        _open_ends(row, subject, actor, now)
    _tell(row, actor, now)
    return row


def subject_of(actor: Member, animal_id: Any, group_id: Any) -> Subject:
    """Return the one animal or group that is meant, its farm locked."""
    if (animal_id is None) == (group_id is None):
        raise BadInput(field="animal", problem="say one of: the animal, or the group.")
    find = animal_in if animal_id is not None else group_in
    key = animal_id if animal_id is not None else group_id
    farm_locked(actor.practice, find(actor.practice, key).location_id)
    return find(actor.practice, key)


def _open_ends(test: ResidueTest, subject: Subject, actor: Member, now: datetime) -> None:
    rows = _likely(test, subject)
    for row in rows:
        row.failed_test = test
        computed = compute_row(row)
        assert computed is not None
        apply(Step(row, computed, change_of(row, computed)), actor=actor, now=now, why=str(test))
    if not rows:
        _hold(test, subject, actor, now)


def _likely(test: ResidueTest, subject: Subject) -> list[Withdrawal]:
    """Return the withdrawals that the failed test puts in doubt, running or ended of late."""
    own = {"treatment__animal": subject} if isinstance(subject, Animal) else {"treatment__group": subject}
    rows = Withdrawal.objects.select_for_update(of=("self",)).filter(
        commodity=test.commodity,
        gives_way_at__isnull=True,
        treatment__first_given_at__lte=test.taken_at,
        **own,
    )
    rows = rows.select_related(
        "practice", "signed_by__member", "treatment__practice", "treatment__medicine",
        "treatment__animal__location", "treatment__group__location", "treatment__location__client",
    ).order_by("pk")  # fmt: skip
    return [row for row in rows if row.state in HOLDING or _ended_of_late(row, test)]


def _ended_of_late(row: Withdrawal, test: ResidueTest) -> bool:
    if row.state != WithdrawalState.ENDED or row.ends_at is None:
        return False
    return row.ends_at > test.taken_at - LOOKED_BACK


def _hold(test: ResidueTest, subject: Subject, actor: Member, now: datetime) -> None:
    OtherHold.objects.create(
        practice=test.practice,
        location=test.location,
        animal=test.animal,
        group=test.group,
        commodity=test.commodity,
        cause=HoldCause.RESIDUE,
        test=test,
        from_at=test.taken_at,
        reason=f"{test.test}, sample of {shown(test.taken_at, test.practice.tz)}",
        recorded_at=now,
        recorded_by=actor,
    )
    plan_held(subject, test.commodity, now)


def _tell(test: ResidueTest, actor: Member, now: datetime) -> None:
    tell(
        practice=test.practice,
        now=now,
        verb="residue_test_recorded",
        subject=test,
        topic="aftercare",
        actor=actor,
        sentence=f"{test.location}: {test}, by {test.tested_by} ({test.test})",
        reason=test.note,
        after={"result": test.result, "taken_at": test.taken_at},
    )
