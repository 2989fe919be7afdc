"""Having a draft built: asked for, worked out beside the web by a worker, written when still wanted."""

import logging
from datetime import datetime, timedelta
from functools import partial

from celery import current_app
from django.db import transaction
from kombu.exceptions import OperationalError

from rotas.access import require_here
from rotas.builder.question import QuestionUnclear, RotaAnswer, RotaQuestion
from rotas.errors import BadInput
from rotas.models import BuildState, Member, Role, Rota, RotaState
from rotas.services.built_duties import as_json, write_duties
from rotas.services.drafts import GAPS, broken_rules, locked_draft
from rotas.services.rota_questions import question_for
from rotas.services.telling import tell

log = logging.getLogger(__name__)

USUAL_SECONDS, MOST_SECONDS = 60, 240
LOST_AFTER = timedelta(minutes=10)  # longer than any build: its worker has died
BUILD_TASK = "rotas.tasks.build_rota"


@transaction.atomic
def ask_build(*, rota: Rota, actor: Member, now: datetime, seconds: float = USUAL_SECONDS) -> Rota:
    """Ask a worker to fill the draft; at once again while it is at work changes nothing.

    What was placed by hand and what is on the rota already stays.
    """
    require_here(actor, rota.practice_id, Role.MANAGER)
    _require_seconds(seconds)
    row = locked_draft(rota.pk)
    if row.build_state == BuildState.ASKED and not _is_lost(row, now):
        return row
    _mark_asked(row, seconds, now)
    tell(
        practice=row.practice,
        now=now,
        verb="build_asked",
        subject=row,
        sentence=f"The rota {row} is being built",
        actor=actor,
        after={"seconds": seconds, "build": row.build_number},
    )
    transaction.on_commit(partial(send_build, row.pk, row.build_number), robust=True)
    return row


def _mark_asked(rota: Rota, seconds: float, now: datetime) -> None:
    rota.build_state = BuildState.ASKED
    rota.build_number += 1
    rota.build_seconds = seconds
    rota.build_asked_at = now
    rota.save(update_fields=["build_state", "build_number", "build_seconds", "build_asked_at"])


def _is_lost(rota: Rota, now: datetime) -> bool:
    return rota.build_asked_at is None or now - rota.build_asked_at > LOST_AFTER


def send_build(rota_id: int, build_number: int) -> None:
    """Give the build to a worker. Without a broker it stays owed, and `builds_lost` sends it again."""
    try:
        current_app.send_task(BUILD_TASK, args=[rota_id, build_number], retry=False)
    except OperationalError as error:
        log.warning("The rota %s is to be built, but no worker can be told: %s", rota_id, error)


@transaction.atomic
def builds_lost(*, now: datetime) -> list[tuple[int, int]]:
    """Return what to send again: builds asked for so long ago that message or worker must be lost."""
    rows = Rota.objects.select_for_update(skip_locked=True).drafts()
    rows = rows.filter(build_state=BuildState.ASKED, build_asked_at__lt=now - LOST_AFTER)
    lost = []
    for rota in rows.order_by("pk"):
        rota.build_asked_at = now
        rota.save(update_fields=["build_asked_at"])
        lost.append((rota.pk, rota.build_number))
    return lost


def build_asked(*, rota_id: int, build_number: int, now: datetime, workers: int = 1) -> bool:
    """Do the build that was asked for and say whether it was still wanted. Safe to run twice, or late."""
    rota = Rota.objects.select_related("practice", "made_by").filter(pk=rota_id).first()
    if rota is None or not _is_wanted(rota, build_number):
        return False
    try:
        answer = _solve(rota, rota.build_seconds, now, workers, seed=1)
    except QuestionUnclear as unclear:
        return give_up(rota_id=rota_id, build_number=build_number, sentence=str(unclear), now=now)
    return _write(rota, build_number, answer, None, now) is not None


def _is_wanted(rota: Rota, build_number: int) -> bool:
    return (
        rota.state == RotaState.DRAFT
        and rota.build_state == BuildState.ASKED
        and rota.build_number == build_number
    )


@transaction.atomic
def give_up(*, rota_id: int, build_number: int, sentence: str, now: datetime) -> bool:
    """Write that a build did not come to an end, and why; the draft stays as it was."""
    rota = Rota.objects.select_for_update(of=("self",)).select_related("practice").get(pk=rota_id)
    if not _is_wanted(rota, build_number):
        return False
    rota.build_state, rota.built_at = BuildState.FAILED, now
    rota.answer = {"sentence": sentence}
    rota.save(update_fields=["build_state", "built_at", "answer"])
    told = f"The rota {rota} could not be built: {sentence}"
    tell(practice=rota.practice, now=now, verb="build_failed", subject=rota, sentence=told, actor=None)
    return True


def build_draft(
    *, rota: Rota, seconds: float, actor: Member, now: datetime, workers: int = 1, seed: int = 1
) -> Rota:
    """Build the draft here and now, and wait for it. Pages use `ask_build` instead."""
    require_here(actor, rota.practice_id, Role.MANAGER)
    _require_seconds(seconds)
    with transaction.atomic():
        row = locked_draft(rota.pk)
        _mark_asked(row, seconds, now)
    try:
        answer = _solve(row, seconds, now, workers, seed)
    except QuestionUnclear as unclear:
        give_up(rota_id=row.pk, build_number=row.build_number, sentence=str(unclear), now=now)
        raise BadInput(field="rota", problem=str(unclear)) from unclear
    return _write(row, row.build_number, answer, actor, now) or Rota.objects.get(pk=row.pk)


def _require_seconds(seconds: float) -> None:
    if not 0 < seconds <= MOST_SECONDS:
        raise BadInput(field="seconds", problem=f"give the builder up to {MOST_SECONDS:g} seconds.")


def _solve(rota: Rota, seconds: float, now: datetime, workers: int, seed: int) -> RotaAnswer:
    """Work outside any transaction: nobody waits for a lock while the solver thinks."""
    from rotas.builder.build import build  # OR-Tools is loaded only where rotas are built

    return build(build_question(rota, now), seconds=seconds, workers=workers, seed=seed)


def build_question(rota: Rota, now: datetime) -> RotaQuestion:
    """Return what the builder is asked for the draft."""
    by_hand = rota.duties.filter(by_hand=True, vet__active=True).select_related("practice").in_order()
    return question_for(rota.practice, rota.first_day, rota.last_day, now, keep=by_hand)


@transaction.atomic
def _write(
    rota: Rota, build_number: int, answer: RotaAnswer, actor: Member | None, now: datetime
) -> Rota | None:
    """Write the answer unless the draft was published, discarded, or asked for anew meanwhile."""
    row = Rota.objects.select_for_update(of=("self",)).select_related("practice").get(pk=rota.pk)
    if not _is_wanted(row, build_number):
        return None
    write_duties(row, answer)
    row.build_state, row.built_at = BuildState.DONE, now
    row.answer = as_json(answer) | {"broken": _broken(row, answer, now)}
    row.save(update_fields=["build_state", "built_at", "answer"])
    tell(
        practice=row.practice,
        now=now,
        verb="rota_built",
        subject=row,
        sentence=f"The rota {row} is built. {answer.sentence}",
        actor=actor,
        after={"gaps": len(answer.gaps), "broken": row.answer["broken"]},
    )
    return row


def _broken(rota: Rota, answer: RotaAnswer, now: datetime) -> list[str]:
    """Return what the draft breaks; the builder's own duties break nothing, those placed by hand may."""
    found = broken_rules(rota, now) if rota.duties.filter(by_hand=True).exists() else answer.broken
    return [each.sentence for each in found if each.rule not in GAPS]
