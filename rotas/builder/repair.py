"""Somebody cannot work: the smallest lawful change of a rota that is already out.

Fewest duties change hands; of equals, the nearest to the first of them; of those, by whom it is fairest.
A duty under way is cut at the moment. Duties taken over count double to who takes them [cp].
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import zip_longest
from time import monotonic

from rotas.builder.asking import problem_of, with_prices
from rotas.builder.build import Effort, cuts_of
from rotas.builder.counts import NIGHTS, counts, quarters, spreads
from rotas.builder.gaps import against, find_gaps
from rotas.builder.grid import Grid, kinds_of
from rotas.builder.illness import Illness, with_odd_cover
from rotas.builder.question import Fixed, Move, Planned, Repaired, RotaAnswer, RotaQuestion, Slot
from rotas.builder.roster import Prices, Roster, Total
from rotas.builder.solving import solve_roster
from rotas.rest.intervals import Span, utc

MOVE, PER_DAY, MOST_AHEAD = 20_000, 200, 20.0
OVER = 5_000_000
LOOK_BACK, LOOK_AHEAD, ROOM = timedelta(days=21), timedelta(days=21), timedelta(days=3)
ROUNDS, LEAST_SECONDS = 4, 0.3


def repair(
    question: RotaQuestion,
    duties: Iterable[Planned],
    ill: str,
    start: datetime,
    end: datetime,
    seconds: float = 4.0,
    workers: int = 1,
    seed: int = 1,
) -> Repaired:
    """Return the smallest lawful change that gives the person's duties in [start, end) to others.

    Duties that are over stay as they were. A move of a duty under way holds its part from `start` on.
    What nobody may take is a move to nobody and a gap of the answer, with the ways out. The answer's
    `broken` is what the moves newly break, its `gaps` those of the days concerned.
    """
    began = monotonic()
    span = Span(utc(start), utc(end))
    stood = tuple(duties)
    illness = Illness(with_odd_cover(question, stood), stood, question.person(ill).id, span)
    moves = _moves(illness, Effort(began + seconds, workers, seed)) if illness.hits else ()
    return Repaired(_answer(illness, moves, began), moves, _sentence(illness, moves))


def _moves(illness: Illness, effort: Effort) -> tuple[Move, ...]:
    """Solve the days concerned and those round them, until the checker finds nothing new."""
    grid = _grid(illness)
    cuts: list[Total] = []
    moves: tuple[Move, ...] = ()
    for number in range(ROUNDS):
        problem = with_prices(problem_of(grid, cuts, preferred=False), _prices(illness, grid))
        roster = solve_roster(problem, effort.left / 2, effort.workers, effort.seed).roster
        if roster is None:
            moves = tuple(Move(illness.open(hit.slot), illness.person, None) for hit in illness.hits)
            return _filled(illness, moves)
        moves = tuple(_read(illness, grid, roster))
        more = list(cuts_of(grid, roster, illness.newly_broken(moves), number))
        if not more or effort.left < LEAST_SECONDS:
            break
        cuts.extend(more)
    return _filled(illness, _lawful(illness, moves))


def _filled(illness: Illness, moves: tuple[Move, ...]) -> tuple[Move, ...]:
    """Give what is still open to whoever nothing stands against, who is furthest behind in nights first.

    So "nobody may" is true even where the time ended before the solver had an answer.
    """
    ahead, question = _ahead(illness), illness.near(illness.afterwards)
    people = sorted(question.people, key=lambda person: (ahead.get(person.id, 0.0), person.id))
    for open_ in [move for move in moves if move.person_to is None]:
        duties = illness.near_duties(illness.after(moves))
        free = (
            person.id
            for person in people
            if open_.slot.role in person.roles
            and not against(question, duties, Move(open_.slot, None, person.id))
        )
        taker = next(free, None)
        moves = tuple(replace(each, person_to=taker) if each == open_ else each for each in moves)
    return moves


def _grid(illness: Illness) -> Grid:
    """The weeks round the illness; only its own days and a few after them may change."""
    question, days = illness.afterwards, illness.days
    first = max(question.first_day, days[0] - LOOK_BACK)
    last = min(question.last_day, days[-1] + LOOK_AHEAD)
    earlier = tuple(planned for planned in illness.duties if planned.slot.day < first)
    near = replace(
        question,
        first_day=first,
        last_day=last,
        before=(*question.before, *earlier),
        fixed=(*question.fixed, *_finished(illness)),
    )
    named = Grid(near)
    free = range(named.number(days[0]), named.number(min(last, days[-1] + ROOM)) + 1)
    inside = (planned for planned in illness.duties if first <= planned.slot.day <= last)
    return replace(named, given=named.shifts_of(inside), free=frozenset(free))


def _finished(illness: Illness) -> Iterator[Fixed]:
    """What is over stays with who did it."""
    for planned in illness.duties:
        if planned.slot.end <= illness.span.start and planned.slot.day >= illness.days[0]:
            yield Fixed(planned.person, planned.slot, "worked")


def _prices(illness: Illness, grid: Grid) -> Prices:
    """A price for every duty that somebody takes over; what is over cannot be taken."""
    ahead = _ahead(illness)
    found = {}
    for (who, day), cells in grid.cells.items():
        if grid.is_free(day):
            stood = frozenset(kinds_of(grid.standing.get((who, day), "")))
            far = abs(grid.date_of(day) - illness.days[0]).days
            for cell in cells:
                taken = [grid.slots[day][kind] for kind in kinds_of(cell[2]) if kind not in stood]
                found[cell] = sum(_price(illness, slot, far, ahead.get(who, 0.0)) for slot in taken)
    return Prices({cell: price for cell, price in found.items() if price})


def _ahead(illness: Illness) -> Mapping[str, float]:
    """How far everyone is ahead of their fair share of nights."""
    found = (each for each in spreads(illness.question, illness.duties) if each.count == NIGHTS)
    return next(found).ahead


def _price(illness: Illness, slot: Slot, far: int, ahead: float) -> int:
    if slot.end <= illness.span.start:
        return OVER
    points = quarters(illness.question, slot).get(NIGHTS, 0)
    return MOVE + PER_DAY * far + round(points * max(-MOST_AHEAD, min(MOST_AHEAD, ahead)))


def _read(illness: Illness, grid: Grid, roster: Roster) -> Iterator[Move]:
    """Pair who loses a duty with who takes it."""
    for day in sorted(grid.free or ()):
        for kind, slot in grid.slots[day].items():
            before, after = _holding(grid.standing, day, kind), _holding(roster.shifts, day, kind)
            lost, taken = sorted(before - after), sorted(after - before)
            for person_from, person_to in zip_longest(lost, taken):
                yield Move(illness.open(slot), person_from, person_to)


def _holding(shifts: Mapping[tuple[str, int], str], day: int, kind: str) -> set[str]:
    return {who for (who, at), shift in shifts.items() if at == day and kind in kinds_of(shift)}


def _lawful(illness: Illness, moves: tuple[Move, ...]) -> tuple[Move, ...]:
    """Hand nobody what would break a rule; that duty is then a gap."""
    while found := {broken.person for broken in illness.newly_broken(moves)}:
        wrong = [move for move in moves if move.person_to in found]
        if not wrong:
            return moves
        last = max(wrong, key=lambda move: move.slot)
        moves = tuple(replace(move, person_to=None) if move == last else move for move in moves)
    return moves


def _answer(illness: Illness, moves: tuple[Move, ...], began: float) -> RotaAnswer:
    question, duties = illness.afterwards, illness.after(moves)
    doubled = [Planned(move.person_to, move.slot) for move in moves if move.person_to is not None]
    gaps = find_gaps(illness.near(question), illness.near_duties(duties))
    return RotaAnswer(
        duties,
        gaps,
        counts(question, duties, doubled),
        spreads(question, duties, doubled),
        illness.newly_broken(moves),
        _sentence(illness, moves),
        monotonic() - began,
    )


def _sentence(illness: Illness, moves: tuple[Move, ...]) -> str:
    if not moves:
        return f"{illness.name(illness.person)} has no duty in that time."
    return " ".join(_told(illness, move) for move in moves)


def _told(illness: Illness, move: Move) -> str:
    if move.person_to is None:
        return f"Nobody may be {illness.told(move.slot)} for {illness.name(move.person_from)}."
    instead = f" for {illness.name(move.person_from)}" if move.person_from else ""
    return f"{illness.name(move.person_to)} is {illness.told(move.slot)}{instead}."
