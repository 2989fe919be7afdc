"""What the rota must give each day, as totals: cover, skills and agreements at a high price, the rest hard.

Whatever may be impossible has a price and not a limit, so that there always is an answer, and what it
lacks is a gap with a name.
"""

from collections.abc import Iterator

from rotas.builder.grid import Grid, kinds_of, role_of
from rotas.builder.limits import having, weigh
from rotas.builder.question import FIRST, ON_CALL, SECOND, SOLO
from rotas.builder.roster import Cell, Total

GAP, NO_SKILL, NOT_AGREED = 1_000_000, 300_000, 500_000


def needs(grid: Grid) -> Iterator[Total]:
    """Yield what every free day needs."""
    for day in grid.new:
        if grid.is_free(day):
            for need in NEEDS:
                yield from need(grid, day)


def cover(grid: Grid, day: int) -> Iterator[Total]:
    """As many people as are wanted, never more."""
    for kind in grid.slots[day]:
        wanted = grid.asked(day, kind)
        price = GAP if role_of(kind) in ON_CALL else GAP // 2
        yield Total(f"cover {day} {kind}", _of_kind(grid, day, kind), wanted, wanted, under=price)


def _of_kind(grid: Grid, day: int, kind: str) -> dict[Cell, int]:
    return {
        cell: 1
        for person in grid.question.people
        for cell in grid.cells[person.id, day]
        if kind in kinds_of(cell[2])
    }


def named_second(grid: Grid, day: int) -> Iterator[Total]:
    """Who needs a named second is first on call only with one of them as second [cp]."""
    for person in grid.question.people:
        first = tuple(having(grid, person.id, (day,), (FIRST,)))
        if person.needs_named_second and first:
            named = (
                part
                for each in sorted(person.needs_named_second)
                for part in having(grid, each, (day,), (SECOND,), -1)
            )
            yield Total(f"named second {person.id} {day}", weigh((*first, *named)), most=0)


def kept_apart(grid: Grid, day: int) -> Iterator[Total]:
    """Never on call the same night."""
    for person in grid.question.people:
        for other in sorted(person.not_with):
            both = (part for each in (person.id, other) for part in having(grid, each, (day,), ON_CALL))
            yield Total(f"kept apart {person.id} {other} {day}", weigh(both), most=1)


def skills(grid: Grid, day: int) -> Iterator[Total]:
    """For each skill that must be there, someone on call does it alone [cp]."""
    if not any(slot.on_call for slot in grid.slots[day].values()):
        return
    for skill in sorted(grid.question.rules.solo_every_night):
        able = [person for person in grid.question.people if person.skills.get(skill) == SOLO]
        cells = weigh(part for person in able for part in having(grid, person.id, (day,), ON_CALL))
        yield Total(f"skill {day} {skill}", cells, least=1, under=NO_SKILL)


def agreements(grid: Grid, day: int) -> Iterator[Total]:
    """What was agreed is worked, and wishes that were granted are kept."""
    for (who, at), kinds in grid.agreed.items():
        if at == day:
            cells = {cell: 1 for cell in grid.cells[who, day] if kinds <= frozenset(kinds_of(cell[2]))}
            yield Total(f"agreed {who} {day}", cells, least=1, under=NOT_AGREED)
    for number, wish in enumerate(grid.question.wishes):
        if wish.firm and wish.wants and grid.number(wish.day) == day:
            roles = ON_CALL | {"day"} if wish.role is None else {wish.role}
            cells = weigh(having(grid, wish.person, (day,), roles))
            yield Total(f"granted {number}", cells, least=1, under=NOT_AGREED)


NEEDS = (cover, named_second, kept_apart, skills, agreements)
