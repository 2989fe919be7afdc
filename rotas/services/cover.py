"""The cover that the practice needs: what a practice starts with, and how it is changed."""

from collections.abc import Iterable
from datetime import datetime, time
from typing import Any

from django.db import transaction

from rotas.access import find, require_here
from rotas.cover_words import cover_in_words
from rotas.errors import AlreadyDone, BadInput
from rotas.models import CoverNeed, Member, Practice, Role, ShiftRole
from rotas.models.cover import SEASON
from rotas.services.telling import tell

WORKING, WEEKEND = [0, 1, 2, 3, 4], [5, 6]
MORNING, EVENING = time(8), time(18)  # handovers that work [cp]
ON_CALL = (ShiftRole.FIRST, ShiftRole.SECOND)
DAY_VETS = 2


def common_needs() -> Iterable[dict[str, Any]]:
    """Yield what most practices need [cp]: first and second every night, from 08:00 on days off; day vets."""
    for role in ON_CALL:
        yield {"role": role, "weekdays": WORKING, "starts": EVENING, "ends": MORNING, "bank_holiday": False}
        yield {"role": role, "weekdays": WEEKEND, "starts": MORNING, "ends": MORNING}
        yield {"role": role, "weekdays": WORKING, "starts": MORNING, "ends": MORNING, "bank_holiday": True}
    yield {
        "role": ShiftRole.DAY,
        "weekdays": WORKING,
        "starts": MORNING,
        "ends": EVENING,
        "bank_holiday": False,
        "wanted": DAY_VETS,
    }


@transaction.atomic
def start_with_common_cover(*, practice: Practice, actor: Member, now: datetime) -> list[CoverNeed]:
    """Give a practice that has never had any cover the common one; return the cover that stands."""
    require_here(actor, practice.pk, Role.MANAGER)
    Practice.objects.select_for_update(no_key=True).get(pk=practice.pk)  # two drafts at once start it once
    rows = CoverNeed.objects.for_practice(practice)
    if not rows.exists():
        CoverNeed.objects.bulk_create(CoverNeed(practice=practice, **need) for need in common_needs())
        sentence = "The rota starts with the common cover; change it where your practice differs"
        tell(
            practice=practice, now=now, verb="cover_started", subject=practice, sentence=sentence, actor=actor
        )
    return list(rows.standing())


@transaction.atomic
def add_cover(
    *,
    practice: Practice,
    role: str,
    weekdays: Iterable[int],
    starts: time,
    ends: time,
    actor: Member,
    now: datetime,
    wanted: int = 1,
    season: tuple[tuple[int, int], tuple[int, int]] | None = None,
    bank_holiday: bool | None = None,
    site: str = "",
    at_workplace: bool = False,
) -> CoverNeed:
    """Add cover to what drafts ask for from now on. `season`: first and last (month, day), both included."""
    require_here(actor, practice.pk, Role.MANAGER)
    days = sorted(set(weekdays))
    if role not in ShiftRole.values:
        raise BadInput(field="role", problem=f"say one of {', '.join(ShiftRole.values)}.")
    if not days or not 0 <= days[0] <= days[-1] <= 6:
        raise BadInput(field="weekdays", problem="say at least one, from 0 for Monday to 6 for Sunday.")
    if not 1 <= wanted <= 50:
        raise BadInput(field="wanted", problem="say how many vets, from 1 to 50.")
    need = CoverNeed.objects.create(
        practice=practice,
        role=role,
        weekdays=days,
        starts=starts,
        ends=ends,
        wanted=wanted,
        bank_holiday=bank_holiday,
        site=site.strip(),
        at_workplace=at_workplace,
        **_season(season),
    )
    tell(
        practice=practice,
        now=now,
        verb="cover_added",
        subject=need,
        sentence=f"Cover needed: {cover_in_words(need)}",
        actor=actor,
    )
    return need


def _season(season: tuple[tuple[int, int], tuple[int, int]] | None) -> dict[str, int]:
    if season is None:
        return {}
    (from_month, from_day), (until_month, until_day) = season
    for month, day in season:
        try:
            datetime(2024, month, day)  # noqa: DTZ001  # a day of the year, in a leap year
        except ValueError as error:
            raise BadInput(field="season", problem="there is no such day in the year.") from error
    return dict(zip(SEASON, (from_month, from_day, until_month, until_day), strict=True))


@transaction.atomic
def end_cover(*, need_id: Any, actor: Member, now: datetime) -> CoverNeed:
    """Take cover out of what later drafts ask for; rotas that exist stay as they are."""
    require_here(actor, actor.practice_id, Role.MANAGER)
    rows = CoverNeed.objects.select_for_update(of=("self",))
    need = find(rows, pk=need_id, practice=actor.practice, what="cover")
    if need.ended_at is not None:
        raise AlreadyDone(state="ended")
    need.ended_at = now
    need.save(update_fields=["ended_at"])
    tell(
        practice=actor.practice,
        now=now,
        verb="cover_ended",
        subject=need,
        sentence=f"Cover no longer needed: {cover_in_words(need)}",
        actor=actor,
    )
    return need
