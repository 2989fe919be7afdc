"""What a new fact does to dates that people already hold: later at once, earlier by signature and morning."""

from collections.abc import Iterable
from copy import copy
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from cases.errors import ShortensWithdrawal
from cases.models import ReminderState, Treatment, Withdrawal, WithdrawalState
from cases.services.held import rank
from cases.services.herd_facts import herd_of, place_of
from cases.services.reminder_plans import plan_change_reminder, plan_treatment_reminders
from cases.services.reminder_times import next_morning
from cases.services.retracting import UNSENT, overtake, retract
from cases.services.withdrawing import columns_of, compute, compute_row
from cases.withdrawal.combine import Change
from cases.withdrawal.force import not_sooner_than
from cases.withdrawal.withdrawal import WaitsFor
from cases.withdrawal.withdrawal import Withdrawal as Computed
from rotas.models import Member, Vet
from rotas.services.telling import tell

AWAITED = (WaitsFor.CALVING.value, WaitsFor.WATER.value)


@dataclass(frozen=True)
class Step:
    """One row, what it will say, and what that does to its date."""

    row: Withdrawal
    computed: Computed
    change: Change


def work_out_again(
    treatments: Iterable[Treatment],
    *,
    actor: Member | None,
    now: datetime,
    why: str,
    signer: Vet | None = None,
    keeps_longer: bool = False,
) -> list[Step]:
    """Compute the dates of these treatments anew. The farm is locked already.

    A later date holds and is told at once, an ended one runs again. An earlier one is refused unless
    a vet signs it, and then the longer date governs everywhere until the next morning; with
    `keeps_longer` it is left as it is, for a fact that is no correction. What was not thought of when
    the treatment was written (the farm sells milk by now) is added.
    """
    chosen = list(treatments)
    steps = [step for row in current_rows(chosen) if (step := _step(row, now)) is not None]
    if keeps_longer:
        steps = [step for step in steps if step.change is not Change.SHORTENS]
    shorter = sorted({step.row.commodity for step in steps if step.change is Change.SHORTENS})
    if shorter and signer is None:
        raise ShortensWithdrawal(what=" and ".join(shorter))
    for step in steps:
        apply(step, actor=actor, now=now, why=why)
    _add_missing(chosen, actor, now, why)
    return steps


def current_rows(treatments: Iterable[Treatment]) -> list[Withdrawal]:
    """Return the locked rows that count of these treatments, ended ones too."""
    rows = Withdrawal.objects.select_for_update(of=("self",)).filter(
        treatment__in=list(treatments), gives_way_at__isnull=True
    )
    return list(
        rows.exclude(state=WithdrawalState.REPLACED)
        .select_related(
            "practice",
            "signed_by__member",
            "failed_test",
            "treatment__practice",
            "treatment__medicine",
            "treatment__animal__location",
            "treatment__group__location",
            "treatment__location__client",
        )
        .order_by("pk")
    )


def _step(row: Withdrawal, now: datetime) -> Step | None:
    """Return what is to be done; nothing for an ended row that stays ended."""
    computed = compute_row(row)
    if computed is None:
        return None
    change = change_of(row, computed)
    if row.state == WithdrawalState.ENDED and (change is not Change.LENGTHENS or computed.may_be_sold(now)):
        return None
    return Step(row, computed, change)


def change_of(row: Withdrawal, computed: Computed) -> Change:
    """Compare what a row says with what it would say."""
    after = copy(row)
    set_columns(after, columns_of(computed))
    if rank(after) == rank(row):
        return Change.SAME
    if row.ends_at is None and row.waits_for in AWAITED and row.failed_test is None:
        return Change.LENGTHENS  # nobody held a date: the first one is told at once
    return Change.LENGTHENS if rank(after) > rank(row) else Change.SHORTENS


def apply(step: Step, *, actor: Member | None, now: datetime, why: str) -> None:
    """Write the new answer into its row, and tell of it as the change asks."""
    row, computed = step.row, step.computed
    was_at = row.first_saleable_at or row.ends_at
    before = {"state": row.state, "ends_at": row.ends_at, "first_saleable_at": row.first_saleable_at}
    if step.change is Change.SHORTENS:
        row.shorter_from = in_force_from(row, now)
        keep_former(row, row.shorter_from)
        computed = put_off(row, computed)
    set_columns(row, columns_of(computed))
    row.save()
    if step.change is Change.SAME:
        return
    tell_change(row, now, shorter=step.change is Change.SHORTENS, why=why, was_at=was_at)
    _write_story(row, actor, now, why, before)


def in_force_from(former: Withdrawal, now: datetime) -> datetime:
    """Return when a shorter date begins to count: the next morning, or when the longer one is over."""
    morning = next_morning(former.practice, now)
    over = former.first_saleable_at or former.ends_at
    return morning if over is None else max(now, min(morning, over))


def put_off(row: Withdrawal, computed: Computed) -> Computed:
    """Return the shorter answer with nothing saleable before it comes into force."""
    assert row.shorter_from is not None
    return not_sooner_than(computed, row.shorter_from, herd_of(place_of(row.treatment)), row.practice.tz)


def keep_former(row: Withdrawal, until: datetime) -> Withdrawal:
    """Keep what the row said as a row of its own that holds until the moment."""
    former = Withdrawal.objects.get(pk=row.pk)
    former.pk, former._state.adding = None, True
    former.gives_way_at = until
    former.save()
    return former


def set_columns(row: Withdrawal, columns: dict[str, Any]) -> None:
    """Put the computed columns into the row, unsaved."""
    for name, value in columns.items():
        setattr(row, name, value)


def tell_change(
    row: Withdrawal, now: datetime, *, shorter: bool, why: str, was_at: datetime | None = None
) -> None:
    """Stop what says the old date, and plan what says the new one: at once if it is later."""
    treatment = row.treatment
    unsent = treatment.reminders.filter(
        state=ReminderState.QUEUED, overtaken_at=None, tellings__message__state__in=UNSENT
    ).exists()
    overtake(treatment.reminders.filter(state=ReminderState.QUEUED), now, why)
    retract(row, now, why)
    if unsent:
        plan_treatment_reminders(treatment, now)
    plan_change_reminder(row, now, shorter=shorter, was_at=was_at)


def _write_story(
    row: Withdrawal, actor: Member | None, now: datetime, why: str, before: dict[str, Any]
) -> None:
    tell(
        practice=row.practice,
        now=now,
        verb="withdrawal_changed",
        subject=row,
        topic="aftercare",
        actor=actor,
        sentence=f"{row.get_commodity_display()} of {row.treatment}: new date",
        reason=why,
        before=before,
        after={
            "state": row.state,
            "ends_at": row.ends_at,
            "first_saleable_at": row.first_saleable_at,
            "in_force_from": row.shorter_from,
        },
    )


def _add_missing(treatments: list[Treatment], actor: Member | None, now: datetime, why: str) -> None:
    """Write the rows of a commodity that nobody thought of, where it is not over already."""
    for treatment in treatments:
        known = set(treatment.withdrawals.values_list("commodity", flat=True))
        for computed in compute(treatment):
            if computed.commodity.value in known or computed.may_be_sold(now):
                continue
            row = Withdrawal.objects.create(
                practice=treatment.practice,
                treatment=treatment,
                commodity=computed.commodity.value,
                **columns_of(computed),
            )
            tell_change(row, now, shorter=False, why=why)
            _write_story(row, actor, now, why, {})
