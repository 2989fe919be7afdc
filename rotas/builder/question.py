"""What a rota is asked from, and what comes back. Shapes only: no solver, no rule.

Days are local dates of the practice; a duty belongs to the day on which it begins. Instants are aware,
stretches half-open. `build.build`, `repair.repair`, `checking.check` and `checking.check_move` take these.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, tzinfo
from functools import cached_property

from rotas.rest.intervals import Span
from rotas.rest.rules import Measure, Reading, RuleSet, rule_set
from rotas.rest.season import LAMBING, Season

FIRST, SECOND, DAY = "first", "second", "day"
ON_CALL = frozenset({FIRST, SECOND})
ROLES = (FIRST, SECOND, DAY)
SOLO = "solo"


class QuestionUnclear(ValueError):
    """The question contradicts itself; the message says what to put right."""


@dataclass(frozen=True, order=True)
class Slot:
    """One duty to be filled by one person. On call at home, unless a day duty or `at_workplace`."""

    day: date
    role: str
    start: datetime
    end: datetime
    site: str = ""
    at_workplace: bool = False

    @property
    def span(self) -> Span:
        """The time of the duty."""
        return Span(self.start, self.end)

    @property
    def on_call(self) -> bool:
        """First or second on call."""
        return self.role in ON_CALL


@dataclass(frozen=True)
class CoverPattern:
    """Cover needed again and again; local clock times, ending the next day where `ends` <= `starts`.

    `bank_holiday`: True only on bank holidays, False never on them, None on both. Weekdays: Monday is 0.
    """

    role: str
    weekdays: frozenset[int]
    starts: time
    ends: time
    wanted: int = 1
    season: Season | None = None
    bank_holiday: bool | None = None
    site: str = ""
    at_workplace: bool = False
    first_day: date | None = None
    last_day: date | None = None


@dataclass(frozen=True)
class NotOn:
    """When somebody is not available, never why. None: any weekday, any role, no first or last day."""

    weekdays: frozenset[int] | None = None
    roles: frozenset[str] | None = None
    first_day: date | None = None
    last_day: date | None = None

    def stops(self, day: date, role: str) -> bool:
        """Say whether a duty of the role that begins on the day is ruled out."""
        return (
            (self.weekdays is None or day.weekday() in self.weekdays)
            and (self.roles is None or role in self.roles)
            and (self.first_day is None or self.first_day <= day)
            and (self.last_day is None or day <= self.last_day)
        )


@dataclass(frozen=True)
class RotaPerson:
    """One person who may be on the rota.

    `needs_named_second`: first on call only with one of these as second the same night; empty: may be alone.
    `not_with`: never on call the same night. `most_nights_in_a_row` counts first and second.
    `history`: per count, how far ahead of the fair share (+) or behind it (-) the person starts;
    "christmas" is how many of the last three Christmases were worked.
    """

    id: str
    name: str
    skills: Mapping[str, str] = field(default_factory=dict)
    contract_share: float = 1.0
    roles: frozenset[str] = frozenset(ROLES)
    needs_named_second: frozenset[str] = frozenset()
    not_with: frozenset[str] = frozenset()
    not_on: tuple[NotOn, ...] = ()
    leave: frozenset[date] = frozenset()
    most_nights_in_a_row: int | None = None
    started_on: date | None = None
    ends_on: date | None = None
    opted_out: bool = False
    history: Mapping[str, float] = field(default_factory=dict)

    def here(self, day: date) -> bool:
        """Say whether the person works here on the day; leave is another matter."""
        return (self.started_on is None or self.started_on <= day) and (
            self.ends_on is None or day <= self.ends_on
        )


@dataclass(frozen=True)
class Wish:
    """Wants the day (of a role, or any duty), or wants it free. `weight` 1 to 3; a firm one is kept."""

    person: str
    day: date
    role: str | None = None
    wants: bool = False
    weight: int = 1
    firm: bool = False


@dataclass(frozen=True)
class Planned:
    """A person on a duty."""

    person: str
    slot: Slot


@dataclass(frozen=True)
class Fixed:
    """A duty already agreed: a swap, or a published duty that must stay."""

    person: str
    slot: Slot
    why: str = "agreed"


DESIGN = (
    Measure.FIRST_NIGHTS,
    Measure.FIRST_NIGHTS_WORKED,
    Measure.CLEAR_AFTER_NIGHTS,
    Measure.FIRST_WEEKENDS,
    Measure.NIGHT_BEFORE_LEAVE,
)


@dataclass(frozen=True)
class RotaRules:
    """The rest rules with their reading; each a setting. `full_week_minutes`: day work at a share of 1.

    `solo_every_night`: skills that someone on call must have alone, every night [cp]. The design limits of
    a rota are rules of the set; a set without them is given the practice's [cp] (`judged_by`).
    """

    rest: RuleSet
    reading: Reading = Reading.GAP
    spring: Season = LAMBING
    solo_every_night: frozenset[str] = frozenset({"caesar_cattle"})
    full_week_minutes: int = 2400
    neighbour: str = "a neighbouring practice"

    @cached_property
    def judged_by(self) -> RuleSet:
        """The rest rules with the design limits of a rota."""
        missing = [measure for measure in DESIGN if self.rest.one(measure) is None]
        added = rule_set("practice").only(missing).rules
        return replace(self.rest, rules=(*self.rest.rules, *added))


SPREAD, SPLIT_WEEKEND = "spread", "split_weekend"
WHOLE_WEEKEND, WEEK_OF_NIGHTS = "whole_weekend", "week_of_nights"
PATTERNS = {
    SPREAD: "one in N: nights of the same person as far apart as may be",
    SPLIT_WEEKEND: "Saturday and Sunday by different people",
    WHOLE_WEEKEND: "Saturday and Sunday by the same person",
    WEEK_OF_NIGHTS: "nights from Monday to Thursday by the same person",
}


@dataclass(frozen=True)
class RotaQuestion:
    """Everything a rota is built from. `before` holds the duties of the last rota, for the join."""

    first_day: date
    last_day: date
    tz: tzinfo
    cover: tuple[CoverPattern, ...]
    people: tuple[RotaPerson, ...]
    rules: RotaRules
    country: str = "GB"
    subdivision: str | None = "ENG"
    wishes: tuple[Wish, ...] = ()
    fixed: tuple[Fixed, ...] = ()
    before: tuple[Planned, ...] = ()
    patterns: frozenset[str] = frozenset({SPREAD})

    def __post_init__(self) -> None:
        if self.last_day < self.first_day:
            raise QuestionUnclear("The last day of a rota must not lie before its first day.")
        if len({person.id for person in self.people}) != len(self.people):
            raise QuestionUnclear("Two people have the same id; give each their own.")
        if unknown := self.patterns - PATTERNS.keys():
            raise QuestionUnclear(
                f"Unknown pattern {', '.join(sorted(unknown))}; choose {', '.join(PATTERNS)}."
            )

    def person(self, person_id: str) -> RotaPerson:
        """Return the person of that id."""
        for person in self.people:
            if person.id == person_id:
                return person
        raise QuestionUnclear(f"{person_id!r} is not among the people of this rota.")


@dataclass(frozen=True)
class Broken:
    """A rule broken: its name, whose duty, when, a sentence, and where the rule comes from."""

    rule: str
    person: str | None
    moment: datetime
    sentence: str
    source: str = ""


@dataclass(frozen=True)
class WayOut:
    """One way to fill a gap; `kind` is wish, exception, leave, fixed or neighbour. Cheapest come first."""

    kind: str
    person: str | None
    sentence: str
    cost: int = 0


@dataclass(frozen=True)
class Gap:
    """Cover that nobody may fill. `missing` names a skill where somebody is on, but nobody with it."""

    slot: Slot
    reason: str
    ways_out: tuple[WayOut, ...] = ()
    stopped_by: tuple[Broken, ...] = ()
    missing: str = ""


@dataclass(frozen=True)
class Spread:
    """One count over the people who share it, set against each one's fair share (pro rata)."""

    count: str
    done: Mapping[str, float]
    fair: Mapping[str, float]

    @property
    def ahead(self) -> Mapping[str, float]:
        """How far each is ahead of the fair share (+) or behind it (-)."""
        return {person: self.done[person] - self.fair[person] for person in self.done}

    @property
    def width(self) -> float:
        """From the furthest behind to the furthest ahead."""
        ahead = self.ahead.values()
        return max(ahead) - min(ahead) if ahead else 0.0


@dataclass(frozen=True)
class RotaAnswer:
    """A rota. `counts`: person -> count name -> points; `broken` is what the checker found."""

    duties: tuple[Planned, ...]
    gaps: tuple[Gap, ...]
    counts: Mapping[str, Mapping[str, float]]
    spreads: tuple[Spread, ...]
    broken: tuple[Broken, ...]
    sentence: str
    seconds: float = 0.0


@dataclass(frozen=True)
class Move:
    """One duty from one person to another; None stands for nobody."""

    slot: Slot
    person_from: str | None
    person_to: str | None


@dataclass(frozen=True)
class Repaired:
    """What changes when somebody cannot work, and the rota after it. A slot under way is cut."""

    answer: RotaAnswer
    moves: tuple[Move, ...]
    sentence: str
