"""What holds an animal's or a pen's milk, meat or eggs, and until when."""

from collections.abc import Iterable
from datetime import datetime

from django.db.models import Q

from cases.models import Animal, Group, GroupStay, OtherHold, Treatment, Withdrawal
from cases.services.known import Known, holding_rows
from rotas.models import Practice

Rank = tuple[bool, datetime | None, datetime | None] | tuple[bool]
Hold = Withdrawal | OtherHold


def holds_of(
    animal: Animal, commodity: str | None = None, *, at: datetime | None = None, known: Known | None = None
) -> list[Withdrawal]:
    """Return every withdrawal that holds the animal's produce, the one that governs last.

    Its own treatments, those of pens that it stood in at any moment of the course, and everything
    in the pen where it stands now, if an identity there is unknown.
    """
    known = known or Known([animal], [at])
    rows = [row for row in known.rows_for([animal]) if was_given(animal, row.treatment, known)]
    found = _governing(rows, animal.practice_id, at)
    for pen in unknown_pens(animal, at, known):
        found += _rows_in(pen, at, known)
    return _sorted(found, commodity)


def was_given(animal: Animal, treatment: Treatment, known: Known) -> bool:
    """Say whether a treatment reached the animal, under any of its tags or with a pen that it stood in."""
    if treatment.animal_id is not None:
        return treatment.animal_id in known.keys(animal)
    first, last = treatment.first_given_at, treatment.last_given_at
    return any(
        stay.group_id == treatment.group_id and stay.during(first, last) for stay in known.stays(animal)
    )


def treated(animal: Animal, prefix: str = "treatment__") -> Q:
    """Return the treatments that reached the animal, as a condition for a query."""
    known = Known([animal], ())
    stood = {stay.group_id for stay in known.stays(animal)}
    rows = Treatment.objects.filter(Q(animal__in=known.keys(animal)) | Q(group__in=stood))
    reached = [row.pk for row in rows if was_given(animal, row, known)]
    return Q(**{f"{prefix}pk__in": reached})


def unknown_pens(animal: Animal, at: datetime | None = None, known: Known | None = None) -> list[Group]:
    """Return the pens where the animal stands in which an identity is not known."""
    known = known or Known([animal], [at])
    known.require(at)
    pens = [stay.group for stay in known.stays(animal) if stay.stands(at)]
    return [pen for pen in pens if not known.is_identified(pen)]


def pen_holds(
    group: Group, commodity: str | None = None, *, at: datetime | None = None, known: Known | None = None
) -> list[Withdrawal]:
    """Return every withdrawal that holds anything in the pen, the one that sets its date last.

    What the whole pen was given, and what the animals brought along that stand in it now. What the pen
    was given before those who stand in it now came holds it no more, if every one of them is known.
    """
    return _sorted(_rows_in(group, at, known or Known([group], [at])), commodity)


def _rows_in(pen: Group, at: datetime | None, known: Known) -> list[Withdrawal]:
    """Return what holds anything in the pen; the same for each of its animals, so judged once."""
    if (pen.pk, at) not in known.in_pen:
        animals = [stay.animal for stay in known.standing_in(pen, at)]
        rows = [
            row
            for animal in animals
            for row in known.rows_for([animal])
            if was_given(animal, row.treatment, known)
        ]
        if not (known.is_identified(pen) and animals):
            rows += known.rows_for((), [pen.pk])
        known.in_pen[pen.pk, at] = _governing(rows, pen.practice_id, at)
    return known.in_pen[pen.pk, at]


def _governing(rows: Iterable[Withdrawal], practice: int, at: datetime | None) -> list[Withdrawal]:
    """Keep each row once, of this practice, and without what has given way to a shorter date."""
    found = {row.pk: row for row in rows if row.treatment.practice_id == practice}
    return [row for row in found.values() if not row.has_given_way(at)]


def _sorted(rows: Iterable[Withdrawal], commodity: str | None) -> list[Withdrawal]:
    found = {row.pk: row for row in rows if commodity is None or row.commodity == commodity}
    return sorted(found.values(), key=rank_and_key)


def standing_in(group: Group, at: datetime | None = None) -> list[GroupStay]:
    """Return who stands in the pen, as far as it is on record, by tag."""
    return Known([group], [at]).standing_in(group, at)


def other_holds_of(
    animal: Animal, *, at: datetime | None = None, known: Known | None = None
) -> list[OtherHold]:
    """Return what holds the animal beside treatments: bought in, a failed test, poisoning."""
    known = known or Known([animal], [at])
    stays = known.stays(animal)
    rows = known.others_for(known.keys(animal), ())
    for row in known.others_for((), {stay.group_id for stay in stays}):
        if any(stay.group_id == row.group_id and _held_while(row, stay) for stay in stays):
            rows.append(row)
    for pen in unknown_pens(animal, at, known):
        rows += _others_in(pen, at, known)
    return _open(rows, animal.practice_id, at)


def _held_while(row: OtherHold, stay: GroupStay) -> bool:
    return stay.until_at is None or row.from_at < stay.until_at


def other_holds_in(
    group: Group, *, at: datetime | None = None, known: Known | None = None
) -> list[OtherHold]:
    """Return what holds anything in the pen beside treatments."""
    return _open(_others_in(group, at, known or Known([group], [at])), group.practice_id, at)


def _others_in(pen: Group, at: datetime | None, known: Known) -> list[OtherHold]:
    return known.others_for([stay.animal_id for stay in known.standing_in(pen, at)], [pen.pk])


def _open(rows: Iterable[OtherHold], practice: int, at: datetime | None) -> list[OtherHold]:
    found = {row.pk: row for row in rows if row.practice_id == practice}
    held = [row for row in found.values() if at is None or not clear(row, at)]
    return sorted(held, key=rank_and_key)


def clear(row: Hold, at: datetime) -> bool:
    """Say whether this hold alone lets produce of the moment go; without an end, never."""
    clear_from = row.first_saleable_at or row.ends_at
    return clear_from is not None and at >= clear_from


def holding(
    treatment: Treatment, commodity: str, now: datetime | None = None, known: Known | None = None
) -> list[Withdrawal]:
    """Return every withdrawal that holds this commodity of the treated animal or group."""
    if treatment.animal is not None:
        return holds_of(treatment.animal, commodity, at=now, known=known)
    assert treatment.group is not None
    return pen_and_own(treatment, commodity, now, known)


def pen_and_own(
    treatment: Treatment, commodity: str, now: datetime | None, known: Known | None = None
) -> list[Withdrawal]:
    """Return what holds a pen together with the treatment's own rows, whoever stands there by now."""
    pen = treatment.group
    assert pen is not None
    known = known or Known([pen], [now])
    own = [row for row in known.rows_for((), [pen.pk]) if not row.has_given_way(now)]
    return _sorted([*_rows_in(pen, now, known), *own], commodity)


def governing(
    treatment: Treatment, commodity: str, now: datetime | None = None, known: Known | None = None
) -> Withdrawal | None:
    """Return the one that ends last; one without an end outranks all that have one."""
    return next(reversed(holding(treatment, commodity, now, known)), None)


def still_held(withdrawal: Withdrawal, now: datetime | None = None) -> Withdrawal | None:
    """Return the other withdrawal that holds the same produce longer, if there is one."""
    last = governing(withdrawal.treatment, withdrawal.commodity, now)
    return last if last is not None and rank(last) > rank(withdrawal) else None


def rank(row: Hold) -> Rank:
    """Order holds by when they let go; one without an end is the last of all."""
    end = row.first_saleable_at or row.ends_at
    return (True,) if end is None else (False, end, row.ends_at)


def rank_and_key(row: Hold) -> tuple[Rank, int]:
    """Order holds always in the same way."""
    return rank(row), row.pk


def last_of_each(practice: Practice, at: datetime) -> list[Withdrawal]:
    """Return what governs each treated animal or pen and commodity, those without a date first.

    One row for each, so that no list shows the end of a medicine that another outlasts.
    """
    last: dict[tuple[int | None, int | None, str], Withdrawal] = {}
    rows = holding_rows(at).filter(practice=practice).select_related("treatment__vet__member")
    for row in sorted(rows, key=rank_and_key):
        last[row.treatment.animal_id, row.treatment.group_id, row.commodity] = row
    return sorted(last.values(), key=lambda row: (row.ends_at is not None, rank_and_key(row)))
