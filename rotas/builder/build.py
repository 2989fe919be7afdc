"""Building a rota: stretch after stretch, nights first, then days round them, then both where something is open.

Every answer is judged by the checker. What it finds is cut off and solved again; if time runs out, the
duty that breaks a rule is taken off and told as a gap, so that no rota leaves with a rule broken.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from time import monotonic

from rotas.builder.asking import problem_of
from rotas.builder.checking import check
from rotas.builder.counts import counts, spreads
from rotas.builder.gaps import find_gaps, missing
from rotas.builder.grid import Grid, nights_of
from rotas.builder.question import DAY, Broken, Planned, RotaAnswer, RotaQuestion
from rotas.builder.roster import Cell, Roster, Total
from rotas.builder.solving import solve_roster
from rotas.builder.stretches import Due, stretches

STRETCHES_PART = 0.75  # of the time; what is left is for the whole
NIGHTS_PART, DAYS_PART = 0.6, 0.6  # of a stretch's time, and of what is then left
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
    duties = lawful(question, _best(question, effort))
    return answer(question, duties, monotonic() - began)


def answer(question: RotaQuestion, duties: tuple[Planned, ...], seconds: float = 0.0) -> RotaAnswer:
    """Return duties as an answer: gaps, counts, spreads, and what the checker says."""
    gaps = find_gaps(question, duties)
    filled = f"{len(duties)} duties from {question.first_day.isoformat()} to {question.last_day.isoformat()}"
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
    """Stretch after stretch; then, where that leaves something to wish for, the whole of it again."""
    duties = in_stretches(question, effort, effort.left * STRETCHES_PART)
    if effort.left < LEAST_SECONDS or not _wanting(question, duties):
        return duties
    grid = Grid(question)
    return solved(grid, effort, effort.left - CHECKING, start=grid.roster_of(duties))


def _wanting(question: RotaQuestion, duties: tuple[Planned, ...]) -> bool:
    """Something is missing, or the fair shares are further apart than one point."""
    return any(missing(question, duties)) or any(each.width > 1 for each in spreads(question, duties))


def in_stretches(question: RotaQuestion, effort: Effort, seconds: float) -> tuple[Planned, ...]:
    """Solve overlapping stretches one after the other; each makes up for what those before it left uneven."""
    done: tuple[Planned, ...] = ()
    until = monotonic() + seconds
    parts = list(stretches(question))
    for number, part in enumerate(parts):
        share = (until - monotonic()) / (len(parts) - number)
        asked = part.question(question, done)
        found = _nights_then_days(asked, part.due(question, done), effort, share)
        done += tuple(planned for planned in found if planned.slot.day <= part.kept_until)
    return done


def _nights_then_days(
    question: RotaQuestion, due: Due, effort: Effort, seconds: float
) -> tuple[Planned, ...]:
    """Who is on call first, then who works by day; both together where that leaves something open."""
    until = monotonic() + seconds
    nights = tuple(pattern for pattern in question.cover if pattern.role != DAY)
    grid = Grid(question, due=due)
    if len(nights) in (0, len(question.cover)):
        return solved(grid, effort, seconds)
    settled = _solve(Grid(replace(question, cover=nights), due=due), effort, seconds * NIGHTS_PART)
    held = {cell: nights_of(shift) for cell, shift in settled.shifts.items()}
    duties = solved(replace(grid, nights=held), effort, (until - monotonic()) * DAYS_PART)
    if until - monotonic() > LEAST_SECONDS and any(missing(question, duties)):
        return solved(grid, effort, until - monotonic(), start=grid.roster_of(duties))
    return duties


def _solve(
    grid: Grid, effort: Effort, seconds: float, cuts: Iterable[Total] = (), start: Roster | None = None
) -> Roster:
    found = solve_roster(problem_of(grid, cuts), max(seconds, 0.1), effort.workers, effort.seed, start).roster
    return found if found is not None else Roster(dict(grid.standing))


def solved(grid: Grid, effort: Effort, seconds: float, start: Roster | None = None) -> tuple[Planned, ...]:
    """Return the grid's best duties in the time; what the checker finds is cut off and solved again."""
    until = monotonic() + seconds
    cuts: list[Total] = []
    roster = _solve(grid, effort, seconds * 0.8, cuts, start)
    for number in range(ROUNDS):
        duties = grid.duties(roster)
        found = list(cuts_of(grid, roster, breached(grid.question, duties), number))
        left = until - monotonic()
        if not found or left < 0.2:
            break
        cuts.extend(found)
        roster = _solve(grid, effort, left * 0.6, cuts, roster)
    return grid.duties(roster)


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


def _behind(broken: Broken, planned: Planned) -> bool:
    return planned.person == broken.person and planned.slot.start <= broken.moment + AHEAD
