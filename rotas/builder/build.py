"""Building a rota: nights first, then days round them, then both together where something is open.

Every answer is judged by the checker. What it finds is cut off and solved again; if time runs out, the
duty that breaks a rule is taken off and told as a gap, so that no rota leaves with a rule broken.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from time import monotonic

from rotas.builder.asking import problem_of
from rotas.builder.checking import check, check_move
from rotas.builder.counts import counts, spreads
from rotas.builder.drafting import drafted
from rotas.builder.gaps import EXPLAINED, find_gaps, missing
from rotas.builder.grid import Grid, nights_of
from rotas.builder.levelling import levelled
from rotas.builder.question import DAY, Broken, Move, Planned, RotaAnswer, RotaPerson, RotaQuestion, Slot
from rotas.builder.roster import Cell, Roster, RosterProblem, Total
from rotas.builder.solving import solve_roster
from rotas.builder.stretches import stretches
from rotas.builder.windows import EVEN, windows

NIGHTS_PART, DAYS_PART = 0.75, 0.6  # of the time that is left then
LEVELLING_PART, SOLVING_PART, TURNS = 0.5, 0.8, 3
SMALL = 1000  # cells of which the solver can prove something in seconds
LEAST_SECONDS, CHECKING = 1.0, 0.5
ROUNDS = 6
BACK, AHEAD = timedelta(days=8), timedelta(days=1)  # the duties that a breach may come from


@dataclass(frozen=True)
class Effort:
    """How long to look, on how many threads, from which seed."""

    deadline: float
    workers: int = 1
    seed: int = 1

    @property
    def left(self) -> float:
        """Seconds left."""
        return max(0.0, self.deadline - monotonic())


def build(question: RotaQuestion, seconds: float = 50.0, workers: int = 1, seed: int = 1) -> RotaAnswer:
    """Return a rota that keeps every rule, as fair as was found in the time, and what could not be filled."""
    began = monotonic()
    effort = Effort(began + seconds, workers, seed)
    duties = filled(question, lawful(question, _best(question, effort)))
    return answer(question, duties, monotonic() - began)


def answer(question: RotaQuestion, duties: tuple[Planned, ...], seconds: float = 0.0) -> RotaAnswer:
    """Return duties as an answer: gaps, counts, spreads, and what the checker says."""
    gaps = find_gaps(question, duties)
    filled = f"{len(duties)} duties, {question.first_day:%a %-d %b} to {question.last_day:%a %-d %b %Y}"
    lacking = "nothing is missing" if not gaps else f"{len(gaps)} gaps"
    return RotaAnswer(
        duties,
        gaps,
        counts(question, duties),
        spreads(question, duties),
        check(question, duties),
        f"{filled}; {lacking}.",
        seconds,
    )


def _best(question: RotaQuestion, effort: Effort) -> tuple[Planned, ...]:
    """Who is on call first, then who works by day; both together where that leaves something open."""
    on_call = tuple(pattern for pattern in question.cover if pattern.role != DAY)
    if len(on_call) in (0, len(question.cover)):
        return solved(Grid(question), effort, effort.left - CHECKING)
    nights = solved(Grid(replace(question, cover=on_call)), effort, effort.left * NIGHTS_PART)
    duties = _days(question, nights, effort, effort.left * DAYS_PART)
    if effort.left < LEAST_SECONDS or not any(missing(question, duties)):
        return duties
    grid = Grid(question)
    return solved(grid, effort, effort.left - CHECKING, start=grid.roster_of(duties))


def _days(
    question: RotaQuestion, nights: tuple[Planned, ...], effort: Effort, seconds: float
) -> tuple[Planned, ...]:
    """Fill the day duties round nights that are settled, in overlapping stretches."""
    done: tuple[Planned, ...] = ()
    until = monotonic() + seconds
    parts = list(stretches(question))
    for number, part in enumerate(parts):
        grid = Grid(part.question(question, done))
        held = {cell: nights_of(shift) for cell, shift in grid.shifts_of(nights).items()}
        share = (until - monotonic()) / (len(parts) - number)
        done += part.kept(solved(replace(grid, nights=held), effort, share))
    return done


def solved(grid: Grid, effort: Effort, seconds: float, start: Roster | None = None) -> tuple[Planned, ...]:
    """Return the grid's best duties in the time: drafted, levelled, and given to the solver where that can
    prove something, or where something is left to wish for. What the checker finds is cut off."""
    until = monotonic() + seconds
    problem, cuts = problem_of(grid), list[Total]()
    roster = start if start is not None else drafted(grid, problem)
    if grid.nights is None:
        roster, cuts = _level(grid, roster, effort.seed, until)
        problem = problem_of(grid, cuts)
    if grid.nights is not None or _is_small(grid) or _wanting(grid.question, grid.duties(roster)):
        roster = _solve(problem, effort, (until - monotonic()) * SOLVING_PART, roster)
    return grid.duties(_cut_off(grid, effort, until, roster, cuts))


def _level(grid: Grid, roster: Roster, seed: int, until: float) -> tuple[Roster, list[Total]]:
    """Level the nights, and again while shares are too far apart, with a window that may be met."""
    cuts: list[Total] = []
    for turn in range(TURNS):
        seconds = max(0.0, until - monotonic()) * LEVELLING_PART
        roster = levelled(grid, problem_of(grid, cuts), roster, seconds, seed + turn)
        found = list(windows(grid, grid.duties(roster)))
        if not found:
            break
        cuts = found
    return roster, cuts


def _is_small(grid: Grid) -> bool:
    return sum(len(cells) for cells in grid.cells.values()) <= SMALL


def _wanting(question: RotaQuestion, duties: tuple[Planned, ...]) -> bool:
    """Something is missing, or the fair shares are further apart than one point."""
    return any(missing(question, duties)) or any(each.width > EVEN for each in spreads(question, duties))


def _cut_off(grid: Grid, effort: Effort, until: float, roster: Roster, cuts: list[Total]) -> Roster:
    """Forbid what the checker finds, and solve again, while there is time."""
    for number in range(ROUNDS):
        found = list(cuts_of(grid, roster, breached(grid.question, grid.duties(roster)), number))
        left = until - monotonic()
        if not found or left < LEAST_SECONDS / 2:
            return roster
        cuts.extend(found)
        roster = _solve(problem_of(grid, cuts), effort, left * SOLVING_PART, roster)
    return roster


def _solve(problem: RosterProblem, effort: Effort, seconds: float, start: Roster) -> Roster:
    found = solve_roster(problem, max(seconds, 0.1), effort.workers, effort.seed, start).roster
    return found if found is not None else start


def breached(question: RotaQuestion, duties: Iterable[Planned]) -> tuple[Broken, ...]:
    """Return what somebody's own duties break; cover that is missing is another matter."""
    return tuple(broken for broken in check(question, duties) if broken.rule not in ABOUT_COVER)


ABOUT_COVER = frozenset({"cover", "skill_cover", "agreed", "firm_wish"})


def cuts_of(grid: Grid, roster: Roster, found: Iterable[Broken], number: int) -> Iterator[Total]:
    """Yield, for each breach, that its duties are not all worked together again."""
    for index, broken in enumerate(found):
        cells = _cells_behind(grid, roster, broken)
        if cells:
            yield Total(f"cut {number} {index}", dict.fromkeys(cells, 1), most=len(cells) - 1)


def _cells_behind(grid: Grid, roster: Roster, broken: Broken) -> Sequence[Cell]:
    first, last = (grid.number((broken.moment + by).date()) for by in (-BACK, AHEAD))
    return [
        (who, day, shift)
        for (who, day), shift in roster.shifts.items()
        if first <= day <= last and who == broken.person
    ]


def lawful(question: RotaQuestion, duties: tuple[Planned, ...]) -> tuple[Planned, ...]:
    """Take off, one by one, the duties that break a rule; their cover is then a gap."""
    while found := breached(question, duties):
        worst = max(
            (each for each in duties if _behind(found[0], each)),
            key=lambda each: each.slot.start,
            default=None,
        )
        if worst is None:
            return duties
        duties = tuple(each for each in duties if each != worst)
    return duties


def filled(question: RotaQuestion, duties: tuple[Planned, ...]) -> tuple[Planned, ...]:
    """Put whoever nothing stands against on what is still open, who is furthest behind first."""
    for slot in tuple(missing(question, duties))[:EXPLAINED]:
        person = next(
            (each for each in _furthest_behind(question, duties) if _fits(question, duties, slot, each)), None
        )
        if person is not None:
            duties = (*duties, Planned(person.id, slot))
    return tuple(sorted(duties, key=lambda planned: (planned.slot, planned.person)))


def _furthest_behind(question: RotaQuestion, duties: tuple[Planned, ...]) -> list[RotaPerson]:
    ahead = {who: by for spread in spreads(question, duties)[:1] for who, by in spread.ahead.items()}
    return sorted(question.people, key=lambda person: (ahead.get(person.id, 0.0), person.id))


def _fits(question: RotaQuestion, duties: tuple[Planned, ...], slot: Slot, person: RotaPerson) -> bool:
    found = check_move(question, duties, Move(slot, None, person.id))
    return all(broken.rule in ABOUT_COVER for broken in found)


def _behind(broken: Broken, planned: Planned) -> bool:
    return planned.person == broken.person and planned.slot.start <= broken.moment + AHEAD
