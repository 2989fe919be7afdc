"""From the database to the frozen question that the rota builder and its checker answer."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from typing import Any

from rotas.builder.counts import CHRISTMAS, carried_over
from rotas.builder.question import (
    CoverPattern,
    Fixed,
    Planned,
    RotaPerson,
    RotaQuestion,
    RotaRules,
    Season,
    Slot,
    Wish,
)
from rotas.builder.question import NotOn as NotOnRule
from rotas.models import (
    CoverNeed,
    DraftDuty,
    Leave,
    NamedSecond,
    NotOn,
    Practice,
    Repair,
    RepairState,
    RotaWish,
    Shift,
    ShiftRole,
    Vet,
)
from rotas.rest.rules import REFERENCE, Reading
from rotas.services.worked import rules_of

JOIN = REFERENCE
YEAR = timedelta(days=365)  # fairness is counted over the last twelve months [cp]
ONE_DAY = timedelta(days=1)


def question_for(
    practice: Practice,
    first_day: date,
    last_day: date,
    now: datetime,
    *,
    keep: Iterable[DraftDuty] = (),
    keep_published: bool = True,
    with_history: bool = True,
) -> RotaQuestion:
    """Return the question of the rota on these days, both included.

    `keep` are duties of a draft that stay with whoever has them. Duties that are on the rota already
    stay too, unless not `keep_published`, as when the question is only put to the checker.
    """
    vets = vets_of(practice)
    question = RotaQuestion(
        first_day=first_day,
        last_day=last_day,
        tz=practice.tz,
        cover=cover_of(practice),
        people=people_of(vets, first_day, last_day),
        rules=RotaRules(rest=rules_of(practice), reading=Reading(practice.daily_rest_reading)),
        country=practice.country,
        subdivision=practice.country_part or None,
        wishes=wishes_of(practice, vets, first_day, last_day),
        fixed=tuple(_fixed(practice, first_day, last_day, keep, keep_published)),
        before=planned_of(shifts_begun(practice, first_day - JOIN, first_day)),
    )
    return _with_history(question, practice, vets) if with_history else question


def vets_of(practice: Practice) -> list[Vet]:
    """Return the vets who may be on the rota, by code."""
    rows = Vet.objects.for_practice(practice).filter(active=True).select_related("member", "practice")
    return sorted(rows.prefetch_related("skills"), key=lambda vet: (len(vet.code), vet.code))


def person_id(vet: Vet | int) -> str:
    """Return the name by which the builder knows a vet."""
    return str(vet if isinstance(vet, int) else vet.pk)


def cover_of(practice: Practice) -> tuple[CoverPattern, ...]:
    """Return the cover that the practice needs."""
    return tuple(_pattern(need) for need in CoverNeed.objects.for_practice(practice).standing())


def _pattern(need: CoverNeed) -> CoverPattern:
    return CoverPattern(
        role=need.role,
        weekdays=frozenset(need.weekdays),
        starts=need.starts,
        ends=need.ends,
        wanted=need.wanted,
        season=_season(need),
        bank_holiday=need.bank_holiday,
        site=need.site,
        at_workplace=need.at_workplace,
    )


def _season(need: CoverNeed) -> Season | None:
    if not (need.from_month and need.from_day and need.until_month and need.until_day):
        return None
    return Season((need.from_month, need.from_day), (need.until_month, need.until_day))


def people_of(vets: list[Vet], first_day: date, last_day: date) -> tuple[RotaPerson, ...]:
    """Return the vets with what bounds them on these days; leave of the weeks before counts as well."""
    rules, seconds = _dated(NotOn, vets, first_day, last_day), _dated(NamedSecond, vets, first_day, last_day)
    away, here = leave_days(vets, first_day - JOIN, last_day), {vet.pk for vet in vets}
    return tuple(
        RotaPerson(
            id=person_id(vet),
            name=vet.name,
            skills={skill.skill: skill.level for skill in vet.skills.all()},
            contract_share=float(vet.contract_share),
            roles=_roles(vet, seconds[vet.pk], here),
            needs_named_second=frozenset(
                person_id(row.second_id) for row in seconds[vet.pk] if row.second_id in here
            ),
            not_on=tuple(_not_on(row) for row in rules[vet.pk]),
            leave=frozenset(away[vet.pk]),
            most_nights_in_a_row=vet.most_nights_running,
            started_on=vet.started_on,
        )
        for vet in vets
    )


def _roles(vet: Vet, seconds: list[NamedSecond], here: set[int]) -> frozenset[str]:
    """Return the vet's roles; whose named seconds have all left is first on call for nobody."""
    alone = bool(seconds) and not any(row.second_id in here for row in seconds)
    return frozenset(vet.rota_roles) - ({ShiftRole.FIRST} if alone else set())


def _dated(model: Any, vets: list[Vet], first_day: date, last_day: date) -> Mapping[int, list[Any]]:
    found: dict[int, list[Any]] = defaultdict(list)
    for row in model.objects.between(first_day, last_day).filter(vet__in=vets).order_by("pk"):
        found[row.vet_id].append(row)
    return found


def _not_on(row: NotOn) -> NotOnRule:
    return NotOnRule(
        weekdays=None if row.weekday is None else frozenset({row.weekday}),
        roles=frozenset({row.role}) if row.role else None,
        first_day=row.starts_on,
        last_day=row.ends_on,
    )


def leave_days(vets: Iterable[Vet], first_day: date, last_day: date) -> Mapping[int, set[date]]:
    """Return the days of approved leave of each vet, by the vet's key."""
    found: dict[int, set[date]] = defaultdict(set)
    for row in Leave.objects.approved().touching(first_day, last_day).filter(vet__in=list(vets)):
        start, end = max(row.first_day, first_day), min(row.last_day, last_day)
        found[row.vet_id] |= {start + number * ONE_DAY for number in range((end - start).days + 1)}
    return found


def wishes_of(practice: Practice, vets: list[Vet], first_day: date, last_day: date) -> tuple[Wish, ...]:
    """Return the wishes that stand, of vets who may be on the rota."""
    rows = RotaWish.objects.for_practice(practice).standing().between(first_day, last_day)
    rows = rows.filter(vet__in=vets).order_by("day", "pk")
    return tuple(
        Wish(person_id(row.vet_id), row.day, row.role or None, row.wants, row.weight) for row in rows
    )


def _fixed(
    practice: Practice, first_day: date, last_day: date, keep: Iterable[DraftDuty], keep_published: bool
) -> Iterable[Fixed]:
    published = shifts_begun(practice, first_day, last_day + ONE_DAY) if keep_published else []
    on_rota = [Fixed(person_id(row.vet_id), slot_of(row), "on the rota already") for row in published]
    known = {(each.person, each.slot) for each in on_rota}
    yield from on_rota
    for duty in keep:
        if duty.vet_id is not None and (person_id(duty.vet_id), slot_of(duty)) not in known:
            yield Fixed(person_id(duty.vet_id), slot_of(duty), "placed by hand")


def shifts_begun(practice: Practice, first_day: date, before_day: date) -> list[Shift]:
    """Return the shifts on the rota that begin on the local days [first_day, before_day), in order."""
    start, end = (datetime.combine(day, time(0), tzinfo=practice.tz) for day in (first_day, before_day))
    rows = Shift.objects.for_practice(practice).filter(
        ended_at__isnull=True, period__startswith__gte=start, period__startswith__lt=end
    )
    return list(rows.select_related("practice", "vet__member").in_order())


def slot_of(duty: Shift | DraftDuty) -> Slot:
    """Return the duty as the builder knows it."""
    return Slot(
        day=day_of(duty),
        role=duty.role,
        start=duty.starts_at,
        end=duty.ends_at,
        site=duty.site,
        at_workplace=duty.at_workplace,
    )


def day_of(duty: Shift | DraftDuty) -> date:
    """Return the day of the rota: a night that is taken over after midnight is still last evening's."""
    return duty.day or duty.practice.local(duty.starts_at).date()


def planned_of(duties: Iterable[Shift | DraftDuty]) -> tuple[Planned, ...]:
    """Return who is on which duty; gaps are left out."""
    return tuple(Planned(person_id(duty.vet_id), slot_of(duty)) for duty in duties if duty.vet_id is not None)


def _with_history(question: RotaQuestion, practice: Practice, vets: list[Vet]) -> RotaQuestion:
    """Carry over how far everyone is ahead of their fair share, or behind, after the last year."""
    since, yesterday = question.first_day - YEAR, question.first_day - ONE_DAY
    past = planned_of(shifts_begun(practice, since, question.first_day))
    known = {person_id(vet) for vet in vets}
    past += tuple(each for each in taken_over(practice, since, yesterday) if each.person in known)
    year = replace(
        question,
        first_day=since,
        last_day=yesterday,
        people=people_of(vets, since, yesterday),
        wishes=(),
        fixed=(),
        before=(),
    )
    carried, festive = carried_over(year, past), _christmases(practice, question.first_day)
    people = (
        replace(person, history={**carried.get(person.id, {}), "christmas": festive.get(person.id, 0.0)})
        for person in question.people
    )
    return replace(question, people=tuple(people))


def taken_over(practice: Practice, first_day: date, last_day: date) -> Iterator[Planned]:
    """Yield the duties on these days that somebody took over at short notice: they count once more [cp]."""
    rows = Repair.objects.for_practice(practice).filter(state=RepairState.ACCEPTED)
    start, end = (
        datetime.combine(day, time(0), tzinfo=practice.tz) for day in (first_day, last_day + ONE_DAY)
    )
    for change in (
        change for repair in rows.filter(period__overlap=(start, end)) for change in repair.changes
    ):
        begins, ends = (datetime.fromisoformat(change[edge]) for edge in ("start", "end"))
        if change["to_vet"] is not None and start <= begins < end:
            day = practice.local(begins).date()
            yield Planned(person_id(change["to_vet"]), Slot(day, change["role"], begins, ends))


def _christmases(practice: Practice, first_day: date) -> Mapping[str, float]:
    """Return how many of the last three Christmases each vet was on duty."""
    last = first_day.year if date(first_day.year, *CHRISTMAS) < first_day else first_day.year - 1
    found: dict[str, float] = defaultdict(float)
    for year in range(last - 2, last + 1):
        day = date(year, *CHRISTMAS)
        for vet_id in {row.vet_id for row in shifts_begun(practice, day, day + ONE_DAY)}:
            found[person_id(vet_id)] += 1
    return found
