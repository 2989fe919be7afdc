"""Bringing a draft's duties to what the builder answered, row by row."""

from collections import defaultdict
from collections.abc import Iterable
from typing import Any

from rotas.builder.question import Gap, RotaAnswer, Slot
from rotas.models import DraftDuty, Rota
from rotas.services.drafts import of_slot
from rotas.services.rota_questions import slot_of


def write_duties(rota: Rota, answer: RotaAnswer) -> None:
    """Bring the draft's duties to what the answer says, row by row; what is placed by hand stays."""
    people, gaps = _people_by_slot(answer), _gaps_by_slot(answer.gaps)
    rows = _rows_by_slot(rota)
    changed: list[DraftDuty] = []
    for slot in sorted({*people, *gaps, *rows}):
        changed += _filled(rota, rows[slot], slot, people[slot], gaps[slot])
    DraftDuty.objects.bulk_create(row for row in changed if row.pk is None)
    kept = [row for row in changed if row.pk is not None]
    DraftDuty.objects.bulk_update(kept, ["vet", "gap_reason", "ways_out"], batch_size=500)
    surplus = {row.pk for each in rows.values() for row in each} - {row.pk for row in kept}
    rota.duties.filter(pk__in=surplus).delete()


def _people_by_slot(answer: RotaAnswer) -> dict[Slot, list[int]]:
    found: dict[Slot, list[int]] = defaultdict(list)
    for planned in answer.duties:
        found[planned.slot].append(int(planned.person))
    return found


def _gaps_by_slot(gaps: Iterable[Gap]) -> dict[Slot, list[Gap]]:
    found: dict[Slot, list[Gap]] = defaultdict(list)
    for gap in gaps:
        found[gap.slot].append(gap)
    return found


def _rows_by_slot(rota: Rota) -> dict[Slot, list[DraftDuty]]:
    found: dict[Slot, list[DraftDuty]] = defaultdict(list)
    for row in rota.duties.select_related("practice", "vet").in_order():
        found[slot_of(row)].append(row)
    return found


def _filled(
    rota: Rota, rows: list[DraftDuty], slot: Slot, people: list[int], gaps: list[Gap]
) -> list[DraftDuty]:
    """Return the rows of one slot with who has them; a gap that names a skill goes with whoever is on.

    What was placed by hand stays even where the builder left it out for a rule that it breaks.
    """
    waiting: list[int | None] = list(people)
    stay = [row for row in rows if _stays(row, people)]
    for row in stay:
        if row.vet_id in waiting:
            waiting.remove(row.vet_id)
    empty = [gap for gap in gaps if not gap.missing]
    room = max(0, len(people) + len(empty) - len(stay))
    others = [row for row in rows if row not in stay][:room]
    others += [of_slot(rota, slot) for _ in range(room - len(others))]
    filled = [_placed(row, vet_id) for row, vet_id in zip(others, waiting, strict=False)]
    left = [_emptied(row, gap) for row, gap in zip(others[len(filled) :], empty, strict=False)]
    for row, gap in zip([*stay, *filled], [gap for gap in gaps if gap.missing], strict=False):
        _explain(row, gap)
    return [*stay, *filled, *left]


def _stays(row: DraftDuty, people: list[int]) -> bool:
    if row.vet is None:
        return False
    return (row.by_hand and row.vet.active) or (row.shift_id is not None and row.vet_id in people)


def _placed(row: DraftDuty, vet_id: int | None) -> DraftDuty:
    row.vet_id, row.gap_reason, row.ways_out = vet_id, "", []
    return row


def _emptied(row: DraftDuty, gap: Gap) -> DraftDuty:
    row.vet_id = None
    return _explain(row, gap)


def _explain(row: DraftDuty, gap: Gap) -> DraftDuty:
    row.gap_reason, row.ways_out = gap.reason, _ways_out(gap)
    return row


def _ways_out(gap: Gap) -> list[dict[str, Any]]:
    return [
        {"kind": way.kind, "vet": int(way.person) if way.person else None, "sentence": way.sentence}
        for way in gap.ways_out
    ]


def as_json(answer: RotaAnswer) -> dict[str, Any]:
    """Return what is kept of an answer beside the duties; people are vets' keys as text."""
    return {
        "sentence": answer.sentence,
        "seconds": round(answer.seconds, 1),
        "gaps": gaps_as_json(answer.gaps),
        "counts": {person: dict(counts) for person, counts in answer.counts.items()},
        "spreads": [
            {"count": each.count, "done": dict(each.done), "fair": dict(each.fair)} for each in answer.spreads
        ],
    }


def gaps_as_json(gaps: Iterable[Gap]) -> list[dict[str, Any]]:
    """Return the gaps as they are kept: the duty, the reason, the skill that is missing, the ways out."""
    return [
        {
            "day": gap.slot.day.isoformat(),
            "role": gap.slot.role,
            "start": gap.slot.start.isoformat(),
            "end": gap.slot.end.isoformat(),
            "site": gap.slot.site,
            "reason": gap.reason,
            "missing": gap.missing,
            "ways_out": _ways_out(gap),
        }
        for gap in gaps
    ]
