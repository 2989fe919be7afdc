"""What is on record of one vet, as plain values: the whole input of the report."""

from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo
from functools import cached_property
from itertools import accumulate

from rotas.builder.question import ROLES
from rotas.fatigue.sleep import Report
from rotas.rest.intervals import START, Duty, DutyKind, Span
from rotas.rest.log import DutyLog
from rotas.rest.rules import Reading, RuleSet, rule_named


@dataclass(frozen=True)
class Person:
    """A vet. `share` is the part of a full week worked by contract; `since` the first day here, if known.

    `roles` are those that the vet takes on the rota.
    """

    key: int
    code: str
    name: str
    share: float = 1.0
    since: date | None = None
    roles: frozenset[str] = frozenset(ROLES)


@dataclass(frozen=True, slots=True)
class Rostered:
    """One shift of the rota and how it counts."""

    role: str
    span: Span
    kind: DutyKind


@dataclass(frozen=True, slots=True)
class Worked:
    """One stretch really worked; `drive_km` what was driven in it, None where nobody wrote it down."""

    kind: DutyKind
    span: Span
    drive_km: float | None = None


@dataclass(frozen=True)
class Signed:
    """A limit knowingly passed: by how much, by whose word, and why. `rule` is its id."""

    at: datetime
    rule: str
    passed_by_min: int
    approved_by: str
    reason: str
    subject: str = ""

    @property
    def named(self) -> str:
        """The limit as people read it."""
        return rule_named(self.rule)


@dataclass(frozen=True)
class OwedRest:
    """Rest that a vet was to be given; `taken_at` is None as long as it was not."""

    key: int
    amount: timedelta
    because: str
    owed_from: datetime
    due_by: datetime
    taken_at: datetime | None = None

    def overdue(self, now: datetime) -> bool:
        """Say whether the day by which it was to be given is over."""
        return self.taken_at is None and self.due_by <= now


@dataclass(frozen=True)
class Note:
    """What will change after a week that went over a mark."""

    week: date
    text: str
    by: str
    at: datetime


@dataclass(frozen=True)
class Looked:
    """The vet has looked at their own report of the days first to last, and what they say to it."""

    at: datetime
    first: date
    last: date
    says: str = ""


@dataclass(frozen=True)
class Kept:
    """Everything of one vet. `rostered` and `worked` reach back as far as the report needs, and on
    into the coming week; `leave` holds the days of agreed leave, `said` what the vet said, oldest first.
    """

    person: Person
    rostered: tuple[Rostered, ...] = ()
    worked: tuple[Worked, ...] = ()
    signed: tuple[Signed, ...] = ()
    owed: tuple[OwedRest, ...] = ()
    leave: frozenset[date] = frozenset()
    said: tuple[Report, ...] = ()
    looked: Looked | None = None
    notes: tuple[Note, ...] = ()

    @cached_property
    def duties(self) -> tuple[Duty, ...]:
        """Shifts and work as the rest rules read them."""
        rota = tuple(Duty.over(each.span, each.kind) for each in self.rostered)
        return rota + tuple(Duty.over(each.span, each.kind) for each in self.worked)

    @cached_property
    def _in_order(self) -> tuple[Duty, ...]:
        return tuple(sorted(self.duties, key=START))

    @cached_property
    def _ended_by(self) -> tuple[datetime, ...]:
        """The latest end of any duty up to each one: it only rises, so it can be searched."""
        return tuple(accumulate((duty.end for duty in self._in_order), max))

    def duties_before(self, moment: datetime) -> tuple[Duty, ...]:
        """Return the duties that had begun by the moment."""
        return self._in_order[: bisect_left(self._in_order, moment, key=START)]

    def duties_touching(self, window: Span) -> tuple[Duty, ...]:
        """Return the duties that share time with the window, whole."""
        first = bisect_right(self._ended_by, window.start)
        begun = self._in_order[first : bisect_left(self._in_order, window.end, key=START)]
        return tuple(duty for duty in begun if duty.end > window.start)


@dataclass(frozen=True)
class Asked:
    """The question: the period [start, end) as far as it has passed at `now`, and how rest is judged."""

    start: datetime
    end: datetime
    now: datetime
    tz: tzinfo
    rule_set: RuleSet
    reading: Reading

    @cached_property
    def until(self) -> datetime:
        """The end of what can be reported; a minute after the start where nothing has passed yet."""
        return max(min(self.end, self.now), self.start + timedelta(minutes=1))

    @property
    def period(self) -> Span:
        """The part of the period that has passed."""
        return Span(self.start, self.until)

    def log(self, duties: tuple[Duty, ...], leave: frozenset[date] = frozenset()) -> DutyLog:
        """Return the duties prepared as the rule set counts them."""
        return DutyLog(duties, self.tz, self.rule_set.standby_in_full, leave=leave)
