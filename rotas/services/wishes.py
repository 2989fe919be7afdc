"""Wishes for the rota, and standing rules of when a vet is not on it. Nobody asks why."""

from datetime import date, datetime
from typing import Any

from django.db import models, transaction

from rotas.access import find, require_here
from rotas.errors import BadInput, NotAllowed, NotFound
from rotas.models import Member, NamedSecond, NotOn, Practice, Role, RotaWish, ShiftRole, Vet
from rotas.services.telling import tell
from rotas.terms_words import between_in_words, not_on_in_words

Days = dict[str, date | None]


def wish_in(practice: Practice, pk: Any) -> RotaWish:
    """Return a wish of the practice by key."""
    return find(
        RotaWish.objects.select_related("practice", "vet__member"), pk=pk, practice=practice, what="wish"
    )


@transaction.atomic
def make_wish(
    *, vet: Vet, day: date, wants: bool, actor: Member, now: datetime, role: str = "", weight: int = 1
) -> RotaWish:
    """Write that a vet would like, or would rather not have, a duty that begins on the day.

    A later wish about the same day and role takes the place of the earlier one. The vet's own, or
    said to a manager.
    """
    _require_mine(vet, actor)
    _require_role(role)
    if not 1 <= weight <= 3:
        raise BadInput(field="weight", problem="say 1 for a little, 2, or 3 for a lot.")
    if day < vet.practice.local(now).date():
        raise BadInput(field="day", problem="this day is over. Choose one to come.")
    Vet.objects.select_for_update(no_key=True).get(pk=vet.pk)  # one wish of a vet at a time
    standing = vet.rota_wishes.standing().filter(day=day, role=role).first()
    if standing is not None:
        if (standing.wants, standing.weight) == (wants, weight):
            return standing
        _take_back(standing, now)
    wish = RotaWish.objects.create(
        practice=vet.practice, vet=vet, day=day, role=role, wants=wants, weight=weight, made_at=now
    )
    _tell(wish, vet, "wish_made", str(wish), actor, now)
    return wish


@transaction.atomic
def withdraw_wish(*, wish: RotaWish, actor: Member, now: datetime) -> RotaWish:
    """Take a wish back. Again changes nothing."""
    _require_mine(wish.vet, actor)
    row = RotaWish.objects.select_for_update(of=("self",)).select_related("vet__member").get(pk=wish.pk)
    if row.withdrawn_at is None:
        _take_back(row, now)
        _tell(row, row.vet, "wish_withdrawn", f"No longer: {row}", actor, now)
    return row


def _take_back(wish: RotaWish, now: datetime) -> None:
    wish.withdrawn_at = now
    wish.save(update_fields=["withdrawn_at"])


def _require_mine(vet: Vet, actor: Member) -> None:
    require_here(actor, vet.practice_id, Role.VET, Role.MANAGER)
    if actor.pk != vet.member_id and not actor.holds(Role.MANAGER):
        raise NotAllowed(role=f"manager, or the vet {vet}")


def _require_role(role: str) -> None:
    if role and role not in ShiftRole.values:
        raise BadInput(field="role", problem=f"say one of {', '.join(ShiftRole.values)}, or nothing for any.")


@transaction.atomic
def keep_off(
    *,
    vet: Vet,
    actor: Member,
    now: datetime,
    weekday: int | None = None,
    role: str = "",
    starts_on: date | None = None,
    ends_on: date | None = None,
) -> NotOn:
    """Keep a vet off a weekday (0 is Monday), off a role, or off both together, from a day to a day.

    A manager writes it. There is no place for the reason. The same rule again is the same rule.
    """
    require_here(actor, vet.practice_id, Role.MANAGER)
    _require_role(role)
    _require_in_order(starts_on, ends_on)
    if weekday is not None and not 0 <= weekday <= 6:
        raise BadInput(field="weekday", problem="say 0 for Monday to 6 for Sunday, or nothing for every day.")
    if weekday is None and not role and (starts_on is None or ends_on is None):
        raise BadInput(field="weekday", problem="say which weekday or role, or from which day to which.")
    Vet.objects.select_for_update(no_key=True).get(pk=vet.pk)  # one rule of a vet at a time
    rule, is_new = NotOn.objects.get_or_create(
        practice=vet.practice, vet=vet, weekday=weekday, role=role, starts_on=starts_on, ends_on=ends_on
    )
    if is_new:
        _tell(rule, vet, "kept_off", f"{vet} {not_on_in_words(rule)}", actor, now, {}, _days_of(rule))
    return rule


@transaction.atomic
def end_keep_off(*, rule_id: Any, actor: Member, now: datetime, ends_on: date) -> NotOn:
    """Let a rule end with a day; a vet is kept off up to and including it. Again changes nothing."""
    require_here(actor, actor.practice_id, Role.MANAGER)
    rows = NotOn.objects.select_for_update(of=("self",)).select_related("vet__member", "practice")
    rule = find(rows, pk=rule_id, practice=actor.practice, what="rule")
    if before := _end(rule, ends_on):
        sentence = f"{rule.vet} {not_on_in_words(rule)}"
        _tell(rule, rule.vet, "keep_off_ended", sentence, actor, now, before, _days_of(rule))
    return rule


def _end(rule: NotOn | NamedSecond, ends_on: date) -> Days | None:
    """Write the last day; return the days before, None where it was that day already."""
    _require_in_order(rule.starts_on, ends_on)
    before = _days_of(rule)
    if rule.ends_on == ends_on:
        return None
    rule.ends_on = ends_on
    rule.save(update_fields=["ends_on"])
    return before


def _days_of(rule: NotOn | NamedSecond) -> Days:
    return {"starts_on": rule.starts_on, "ends_on": rule.ends_on}


@transaction.atomic
def name_second(
    *,
    vet: Vet,
    second: Vet,
    actor: Member,
    now: datetime,
    starts_on: date | None = None,
    ends_on: date | None = None,
) -> NamedSecond:
    """Let a vet be first on call only with one of their named seconds; naming one again sets the days."""
    require_here(actor, vet.practice_id, Role.MANAGER)
    _require_in_order(starts_on, ends_on)
    if second.practice_id != vet.practice_id:
        raise NotFound(what="vet")
    if second.pk == vet.pk:
        raise BadInput(field="second", problem="a vet cannot be second for themselves. Name another.")
    Vet.objects.select_for_update(no_key=True).get(pk=vet.pk)  # one rule of a vet at a time
    standing = NamedSecond.objects.filter(vet=vet, second=second).first()
    row = standing or NamedSecond(practice=vet.practice, vet=vet, second=second)
    before, after = _days_of(row) if standing else {}, {"starts_on": starts_on, "ends_on": ends_on}
    if before == after:
        return row
    row.starts_on, row.ends_on = starts_on, ends_on
    row.save()
    _tell(row, vet, "second_named", f"{row}{between_in_words(row)}", actor, now, before, after)
    return row


@transaction.atomic
def end_named_second(*, row_id: Any, actor: Member, now: datetime, ends_on: date) -> NamedSecond:
    """Let a vet be a named second up to and including a day. Again changes nothing.

    Once no named second is in force the vet is first on call like anybody else.
    """
    require_here(actor, actor.practice_id, Role.MANAGER)
    rows = NamedSecond.objects.select_for_update(of=("self",))
    rows = rows.select_related("vet__member", "second__member", "practice")
    row = find(rows, pk=row_id, practice=actor.practice, what="named second")
    if before := _end(row, ends_on):
        sentence = f"{row}{between_in_words(row)}"
        _tell(row, row.vet, "named_second_ended", sentence, actor, now, before, _days_of(row))
    return row


def _require_in_order(first: date | None, last: date | None) -> None:
    if first is not None and last is not None and last < first:
        raise BadInput(field="ends_on", problem="the last day is the first or a later one. Check the days.")


def _tell(
    row: models.Model,
    vet: Vet,
    verb: str,
    sentence: str,
    actor: Member,
    now: datetime,
    before: Days | None = None,
    after: Days | None = None,
) -> None:
    tell(
        practice=vet.practice, now=now, verb=verb, subject=row, sentence=sentence, actor=actor,
        before=before, after=after,
    )  # fmt: skip
