"""What a rota may ask of one person: each rule a function over the sheet, under its plain sentence.

`mine` holds the person's slots in order of time, those of the last rota in front.
"""

from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise

from rotas.builder.question import Broken, RotaPerson, Slot
from rotas.builder.sheet import Sheet, runs

CP = "[cp]"
OURS = "by this rota's own question"
Slots = Sequence[Slot]


def on(slot: Slot) -> str:
    """Return the slot in words: 'first on call on Tue 3 Mar'."""
    named = f"{slot.role} on call" if slot.on_call else "day vet"
    at = f" at {slot.site}" if slot.site else ""
    return f"{named}{at} on {slot.day:%a} {slot.day.day} {slot.day:%b}"


def one_at_a_time(sheet: Sheet, person: RotaPerson, mine: Slots) -> Iterator[Broken]:
    """Nobody is on two duties at once."""
    for before, after in pairwise(mine):
        if after.start < before.end:
            told = f"{person.name} is {on(before)} and {on(after)} at the same time."
            yield Broken("one_at_a_time", person.id, after.start, told, OURS)


def role_held(sheet: Sheet, person: RotaPerson, mine: Slots) -> Iterator[Broken]:
    """Everybody is only on duties of their own roles."""
    for slot in mine:
        if slot.role not in person.roles:
            told = f"{person.name} is {on(slot)}, a role that is not theirs."
            yield Broken("role_held", person.id, slot.start, told, OURS)


def works_here(sheet: Sheet, person: RotaPerson, mine: Slots) -> Iterator[Broken]:
    """Nobody is on before they start or after they leave."""
    for slot in mine:
        if not person.here(slot.day):
            told = f"{person.name} is {on(slot)}, but does not work here on that day."
            yield Broken("works_here", person.id, slot.start, told, OURS)


def on_leave(sheet: Sheet, person: RotaPerson, mine: Slots) -> Iterator[Broken]:
    """No duty begins on a day of leave."""
    for slot in mine:
        if slot.day in person.leave:
            told = f"{person.name} is {on(slot)}, a day of leave."
            yield Broken("on_leave", person.id, slot.start, told, OURS)


def available(sheet: Sheet, person: RotaPerson, mine: Slots) -> Iterator[Broken]:
    """Nobody is on when they are not available; why is nobody's business [cp]."""
    for slot in mine:
        if any(rule.stops(slot.day, slot.role) for rule in person.not_on):
            told = f"{person.name} is {on(slot)}, but is not available for it."
            yield Broken("available", person.id, slot.start, told, CP)


def firm_wishes(sheet: Sheet, person: RotaPerson, mine: Slots) -> Iterator[Broken]:
    """A wish that was granted is kept."""
    for wish in sheet.question.wishes:
        if wish.person != person.id or not wish.firm:
            continue
        kept = [slot for slot in mine if slot.day == wish.day and wish.role in (None, slot.role)]
        if bool(kept) != wish.wants:
            asked = "be on" if wish.wants else "be free"
            told = f"{person.name} was promised to {asked} on {wish.day:%a} {wish.day.day} {wish.day:%b}."
            moment = kept[0].start if kept else sheet.midnight(wish.day)
            yield Broken("firm_wish", person.id, moment, told, OURS)


def own_nights_in_a_row(sheet: Sheet, person: RotaPerson, mine: Slots) -> Iterator[Broken]:
    """Nobody has more nights on call in a row than they have agreed to [cp]."""
    most = person.most_nights_in_a_row
    if most is None:
        return
    starts = {slot.day: slot.start for slot in mine if slot.on_call}
    for run in runs(sorted(starts)):
        if len(run) > most:
            told = (
                f"{person.name} is on call {len(run)} nights in a row; {most} is the most agreed with them."
            )
            yield Broken("own_nights_in_a_row", person.id, starts[run[most]], told, CP)


PersonRule = Callable[[Sheet, RotaPerson, Slots], Iterator[Broken]]
PERSON_RULES: tuple[PersonRule, ...] = (
    one_at_a_time,
    role_held,
    works_here,
    on_leave,
    available,
    firm_wishes,
    own_nights_in_a_row,
)
