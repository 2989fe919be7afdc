"""What the pages of a rota in the making show: where it stands, its days, its fairness. Nobody is ranked."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from rotas.builder.counts import counts, spreads
from rotas.builder.question import Spread
from rotas.duty_words import duty_in_words
from rotas.models import BuildState, DraftDuty, Rota, RotaState, ShiftRole
from rotas.pages.days import SHORT, days, holidays_of
from rotas.pages.rota_words import times
from rotas.services.drafts import GAPS, broken_rules
from rotas.services.rota_questions import person_id, planned_of, question_for, vets_of

COUNTED = (
    ("nights", "Night points"), ("weekends", "Weekend points"), ("bank_holidays", "Bank holiday points"),
)  # fmt: skip
PLAIN = (("first_nights", "First on call"), ("second_nights", "Second on call"), ("days", "Day vet"))


@dataclass(frozen=True)
class Gap:
    """A duty that nobody has, or that lacks a skill, with the builder's reason and the ways out."""

    duty: DraftDuty
    words: str
    ways_out: tuple[str, ...]


@dataclass(frozen=True)
class FairRow:
    """One person: plain numbers, and points beside the fair share of them."""

    name: str
    plain: tuple[int, ...]
    points: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Fairness:
    """The table and, for each count, how far apart people lie."""

    rows: tuple[FairRow, ...]
    sentences: tuple[str, ...]
    plain: tuple[str, ...]
    points: tuple[str, ...]


@dataclass(frozen=True)
class Standing:
    """Where a rota stands, in one sentence, with what stands against publishing it.

    `loose` are gaps that belong to no single duty, such as a skill that nobody on call has.
    """

    do: str
    sentence: str
    detail: str
    gaps: tuple[Gap, ...]
    loose: tuple[str, ...]
    broken: tuple[str, ...]
    fairness: Fairness | None


@dataclass(frozen=True)
class DutyCell:
    """The duties of one role on one day."""

    word: str
    short: str
    duties: tuple[tuple[DraftDuty, str], ...]


@dataclass(frozen=True)
class DayRow:
    """One day of a rota in the making."""

    day: date
    holiday: str
    is_weekend: bool
    cells: tuple[DutyCell, ...]


def standing(rota: Rota, now: datetime) -> Standing:
    """Return where the rota stands now, judged and counted anew from its duties."""
    duties = list(rota.duties.select_related("practice", "vet__member").in_order())
    if all(duty.vet_id is None for duty in duties):
        return Standing(*_next(rota, duties, 0, 0), (), (), (), None)
    found = broken_rules(rota, now) if rota.state == RotaState.DRAFT else ()
    broken = tuple(each.sentence for each in found if each.rule not in GAPS)
    missing = [each for each in found if each.rule in GAPS]
    gaps = _gaps(duties, {rota.practice.local(each.moment).date() for each in missing})
    told = {gap.duty.day for gap in gaps}
    loose = tuple(each.sentence for each in missing if rota.practice.local(each.moment).date() not in told)
    do, sentence, detail = _next(rota, duties, len(gaps) + len(loose), len(broken))
    return Standing(do, sentence, detail, gaps, loose, broken, _fairness(rota, duties, now))


def _gaps(duties: Iterable[DraftDuty], missing_on: set[date]) -> tuple[Gap, ...]:
    """Return the duties that nobody has, and those that lack a skill which is missing still."""
    return tuple(
        _gap(duty) for duty in duties if duty.vet_id is None or (duty.gap_reason and duty.day in missing_on)
    )


def _gap(duty: DraftDuty) -> Gap:
    return Gap(duty, duty_in_words(duty), tuple(way["sentence"] for way in duty.ways_out))


def _next(rota: Rota, duties: list[DraftDuty], gaps: int, broken: int) -> tuple[str, str, str]:
    """Return what to do next, the sentence for it, and what stands behind it."""
    told = _made(rota, duties)
    if rota.state == RotaState.PUBLISHED:
        by = f"Published by {rota.published_by}." if rota.published_by else ""
        return "nothing", "It is on the rota for everyone.", f"{by} Single duties change by a swap."
    if rota.state == RotaState.WITHDRAWN:
        return "over", "It was withdrawn.", "It stays here to be read."
    if rota.build_state == BuildState.ASKED:
        detail = f"That takes up to {rota.build_seconds:.0f} seconds. You may leave this page meanwhile."
        return "wait", "It is being built.", detail
    if rota.build_state == BuildState.FAILED:
        return "build", "It could not be built.", rota.answer.get("sentence", "")
    if all(duty.vet_id is None for duty in duties):
        return "build", "Nobody is on it yet.", "Have it built, or put people on by hand."
    if broken:
        rules = "1 rule is broken." if broken == 1 else f"{broken} rules are broken."
        return "mend", f"{rules} Move these duties, then publish.", told
    if gaps:
        left = "1 gap is left." if gaps == 1 else f"{gaps} gaps are left."
        return "gaps", f"No rule is broken. {left}", told
    return "publish", "No rule is broken, and every duty has somebody.", told


def _made(rota: Rota, duties: Iterable[DraftDuty]) -> str:
    """Say when it was built and how much of it was placed by hand."""
    by_hand = sum(duty.by_hand for duty in duties)
    hand = "1 duty is placed by hand." if by_hand == 1 else f"{by_hand} duties are placed by hand."
    built = f"Built {rota.practice.local(rota.built_at):%a %-d %b %H:%M}. " if rota.built_at else ""
    return f"{built}{hand if by_hand else ''}".strip()


def _fairness(rota: Rota, duties: Iterable[DraftDuty], now: datetime) -> Fairness:
    question = question_for(rota.practice, rota.first_day, rota.last_day, now, keep_published=False)
    known = {person.id for person in question.people}
    planned = [each for each in planned_of(duties) if each.person in known]
    plain, by_count = counts(question, planned), {each.count: each for each in spreads(question, planned)}
    shown = [(by_count[name], word) for name, word in COUNTED if by_count[name].fair]
    return Fairness(
        rows=tuple(_fair_row(person.id, person.name, plain[person.id], shown) for person in question.people),
        sentences=tuple(_apart(spread, word) for spread, word in shown),
        plain=tuple(word for _, word in PLAIN),
        points=tuple(word for _, word in shown),
    )


def _fair_row(
    person: str, name: str, plain: Mapping[str, float], shown: Iterable[tuple[Spread, str]]
) -> FairRow:
    points = tuple(
        (_points(spread.done[person]), _points(spread.fair[person])) if person in spread.fair else ("", "")
        for spread, _ in shown
    )
    return FairRow(name, tuple(int(plain[key]) for key, _ in PLAIN), points)


def _apart(spread: Spread, word: str) -> str:
    """Say how far the one furthest ahead of their fair share and the one furthest behind it lie apart."""
    return f"{word}: against their fair shares, all lie within {_points(spread.width)} of one another."


def _points(points: float) -> str:
    return f"{points:.1f}".removesuffix(".0") if abs(points) >= 0.05 else "0"


def days_shown(rota: Rota, first: date, last: date) -> list[DayRow]:
    """Return the days from the first to the last with who is on."""
    named = holidays_of(rota.practice, first, last)
    rows = rota.duties.filter(day__range=(first, last)).select_related("practice", "vet__member").in_order()
    found: dict[tuple[date, str], list[tuple[DraftDuty, str]]] = defaultdict(list)
    for duty in rows:
        place = f", {duty.site}" if duty.site else ""
        found[duty.day, duty.role].append((duty, f"{times(duty)}{place}"))
    return [
        DayRow(
            day=day,
            holiday=named.get(day, ""),
            is_weekend=day.weekday() >= 5,
            cells=tuple(
                DutyCell(role.label, SHORT[role], tuple(found[day, role.value])) for role in ShiftRole
            ),
        )
        for day in days(first, last)
    ]


def duty_shown(duty: DraftDuty) -> dict[str, Any]:
    """Return what the part about one duty shows."""
    vets = [vet for vet in vets_of(duty.practice) if duty.role in vet.rota_roles]
    return {
        "duty": duty,
        "words": duty_in_words(duty),
        "times": times(duty),
        "is_draft": duty.rota.state == RotaState.DRAFT,
        "vets": [vet for vet in vets if vet.pk != duty.vet_id],
        "person": person_id(duty.vet_id) if duty.vet_id else "",
    }
