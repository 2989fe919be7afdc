"""Cover that nobody fills: why not, rule by rule and person by person, and the cheapest ways out."""

from collections.abc import Iterable, Iterator, Sequence

from rotas.builder.checking import check_move
from rotas.builder.cover import days_of, slots_on
from rotas.builder.night_rules import is_solo
from rotas.builder.person_rules import CP, on
from rotas.builder.question import Broken, Gap, Move, Planned, RotaPerson, RotaQuestion, Slot, WayOut
from rotas.builder.sheet import Sheet
from rotas.rest.intervals import gaps as free_time
from rotas.rest.intervals import merge

ASK, WISH, EXCEPTION, LEAVE, FIXED, NEIGHBOUR = "ask", "wish", "exception", "leave", "fixed", "neighbour"
COST = {ASK: 1, WISH: 10, FIXED: 20, EXCEPTION: 40, LEAVE: 80, NEIGHBOUR: 100}
TELLING = 3  # people named in a reason
EXPLAINED = 60  # gaps for which everybody is asked about; a rota with more lacks people, not reasons
NEVER = frozenset({"available", "named_second", "kept_apart"})  # private, or there for somebody's safety


def find_gaps(question: RotaQuestion, duties: Iterable[Planned]) -> tuple[Gap, ...]:
    """Return every gap of the rota in order of time, with reasons and ways out."""
    duties = tuple(duties)
    unfilled = [
        _gap(question, duties, slot) if number < EXPLAINED else _plain(question, slot)
        for number, slot in enumerate(missing(question, duties))
    ]
    unskilled = list(_without_skill(question, duties))
    return tuple(sorted((*unfilled, *unskilled), key=lambda gap: (gap.slot, gap.missing)))


def missing(question: RotaQuestion, duties: Iterable[Planned]) -> Iterator[Slot]:
    """Yield each slot, or the part of one, that nobody fills."""
    sheet = Sheet(question, tuple(duties))
    for day in days_of(question):
        left = [planned.slot for planned in sheet.on.get(day, ())]
        for slot in slots_on(question, day):
            if slot in left:
                left.remove(slot)
                continue
            parts = [each for each in left if _part_of(each, slot)]
            left = [each for each in left if each not in parts]
            for span in free_time(merge(part.span for part in parts), slot.span):
                yield Slot(day, slot.role, span.start, span.end, slot.site, slot.at_workplace)


def _part_of(given: Slot, slot: Slot) -> bool:
    same = (given.role, given.site) == (slot.role, slot.site)
    return same and slot.start <= given.start and given.end <= slot.end


Stops = Sequence[tuple[RotaPerson, tuple[Broken, ...]]]


def _gap(question: RotaQuestion, duties: tuple[Planned, ...], slot: Slot) -> Gap:
    stops = _stops(question, duties, slot, question.people)
    told = _told(stops, slot)
    reason = f"Nobody may be {on(slot)}. {told}".rstrip()
    return Gap(slot, reason, _ways_out(question, stops, slot), tuple(b for _, found in stops for b in found))


def _plain(question: RotaQuestion, slot: Slot) -> Gap:
    reason = f"Nobody is {on(slot)}. Too much is open to ask about everybody; fill the earlier gaps first."
    return Gap(slot, reason, (_neighbour(question, slot),))


def _stops(
    question: RotaQuestion, duties: tuple[Planned, ...], slot: Slot, people: Iterable[RotaPerson]
) -> Stops:
    """Who is stopped by what, least stopped first; who never holds the role is left out."""
    asked = [person for person in people if slot.role in person.roles]
    found = [(person, against(question, duties, Move(slot, None, person.id))) for person in asked]
    return sorted(found, key=lambda stop: (sum(map(_weight, stop[1])), stop[0].name))


def against(question: RotaQuestion, duties: tuple[Planned, ...], *moves: Move) -> tuple[Broken, ...]:
    """Return what stands against the moves; that cover is missing elsewhere does not."""
    return tuple(broken for broken in check_move(question, duties, moves) if broken.rule != "cover")


def _weight(broken: Broken) -> int:
    """How far a rule is from being set aside: a wish first, the law last."""
    order = {"firm_wish": 1, "agreed": 2, "on_leave": 6, "one_at_a_time": 9, "works_here": 20, "available": 8}
    return order.get(broken.rule, 4 if broken.source == CP else 12)


def _told(stops: Stops, slot: Slot) -> str:
    if not stops:
        return f"Nobody on this rota has the role {slot.role}."
    said = [found[0].sentence for _, found in stops if found][:TELLING]
    more = len([1 for _, found in stops if found]) - len(said)
    return " ".join(said) + (f" {more} more are stopped too." if more > 0 else "")


def _ways_out(question: RotaQuestion, stops: Stops, slot: Slot) -> tuple[WayOut, ...]:
    ways = [way for person, found in stops if (way := _way(person, found, slot)) is not None]
    return tuple(sorted((*ways, _neighbour(question, slot)), key=lambda way: way.cost))


def _neighbour(question: RotaQuestion, slot: Slot) -> WayOut:
    told = f"Ask {question.rules.neighbour} to take {on(slot)}."
    return WayOut(NEIGHBOUR, None, told, COST[NEIGHBOUR])


def _way(person: RotaPerson, found: Sequence[Broken], slot: Slot) -> WayOut | None:
    """The one way that takes this person; None where the law, privacy or safety stands against it."""
    rules = {broken.rule for broken in found}
    if not found:
        told = f"Ask {person.name} to be {on(slot)}; nothing stands against it."
        return WayOut(ASK, person.id, told, COST[ASK])
    if rules <= {"firm_wish"}:
        told = f"Ask {person.name} to give up the day that was promised, to be {on(slot)}."
        return WayOut(WISH, person.id, told, COST[WISH])
    if rules <= {"agreed", "firm_wish"}:
        return WayOut(FIXED, person.id, f"Undo what was agreed with {person.name}.", COST[FIXED])
    if all(broken.source == CP for broken in found) and not rules & NEVER:
        told = f"Ask {person.name} to be {on(slot)} as an exception: {found[0].sentence}"
        return WayOut(EXCEPTION, person.id, told, COST[EXCEPTION] + len(found))
    if rules <= {"on_leave"}:
        told = f"Ask {person.name} to give up a day of leave, to be {on(slot)}."
        return WayOut(LEAVE, person.id, told, COST[LEAVE])
    return None


def _without_skill(question: RotaQuestion, duties: tuple[Planned, ...]) -> Iterator[Gap]:
    """Nights that are filled, but by nobody who does what must be there alone."""
    sheet = Sheet(question, duties)
    for day in days_of(question):
        there = [planned for planned in sheet.on.get(day, ()) if planned.slot.on_call]
        for skill in sorted(question.rules.solo_every_night):
            if there and not any(is_solo(sheet, planned.person, skill) for planned in there):
                yield _skill_gap(sheet, there[-1], skill)


def _skill_gap(sheet: Sheet, replaced: Planned, skill: str) -> Gap:
    question, slot = sheet.question, replaced.slot
    able = [person for person in question.people if person.skills.get(skill) == "solo"]
    others = tuple(planned for planned in sheet.duties if planned != replaced)
    stops = _stops(question, others, slot, able)
    reason = f"Nobody who does {skill} alone may be {on(slot)}. {_told(stops, slot)}"
    found = tuple(broken for _, each in stops for broken in each)
    return Gap(slot, reason, _ways_out(question, stops, slot), found, missing=skill)
