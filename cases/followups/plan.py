"""When each follow-up of a procedure falls due [cp].

Hours run as elapsed time, through weekends and clock changes. Days are days of the practice's calendar and
fall within its hours; what is not a must and meets a weekend moves to Monday. A step whose event has not
happened yet waits for it and is never dropped.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from cases.followups.errors import FollowupError
from cases.followups.templates import Anchor, Importance, StepRule, Template, Unit, Who
from cases.followups.versions import template_for

# A step closes when a result is written, not when a call was tried; so many failed tries escalate it [cp].
FAILED_TRIES_TO_ESCALATE = 2


@dataclass(frozen=True)
class DayHours:
    """The hours in which day steps fall, and the weekdays (Monday is 0) that lesser steps avoid [cp]."""

    opens: time = time(9)
    closes: time = time(17)
    weekend: frozenset[int] = frozenset({5, 6})

    def __post_init__(self) -> None:
        if self.opens >= self.closes:
            raise ValueError("the day must open before it closes")
        if len(self.weekend & frozenset(range(7))) > 6:
            raise ValueError("one day of the week must not be weekend")


@dataclass(frozen=True)
class Step:
    """One follow-up of one procedure. Instants are UTC.

    `due_at` is None while the step waits for its anchor, named in `waiting_for`. `not_before` and `not_after`
    are set where the window is hard. `moved_from` is the weekend day that the step would have fallen on.
    """

    template: str
    procedure: str
    number: int
    who: Who
    action: str
    importance: Importance
    escalate_if: str
    source_keys: tuple[str, ...]
    anchor: Anchor
    due_at: datetime | None
    waiting_for: Anchor | None
    not_before: datetime | None = None
    not_after: datetime | None = None
    moved_from: date | None = None

    @property
    def is_waiting(self) -> bool:
        return self.waiting_for is not None

    @property
    def must(self) -> bool:
        return self.importance is Importance.MUST


def plan_followups(
    template: Template | str,
    anchors: Mapping[str, datetime],
    tz: ZoneInfo,
    hours: DayHours = DayHours(),
) -> tuple[Step, ...]:
    """Return every step of the template, in the order of the table.

    `anchors` maps anchor words ("visit_end", "sample_sent") to aware instants, of those events that happened.
    Raises FollowupError for an unknown template, an unknown anchor or a time without its offset.
    """
    found = template if isinstance(template, Template) else template_for(template)
    happened = {_anchor(word): _instant(word, at) for word, at in anchors.items()}
    return tuple(_step(found, rule, happened.get(rule.anchor), tz, hours) for rule in found.steps)


def _anchor(word: str) -> Anchor:
    try:
        return Anchor(word)
    except ValueError:
        known = ", ".join(anchor.value for anchor in Anchor)
        raise FollowupError(
            "anchors", f"{word!r} is not an event that follow-ups count from: {known}."
        ) from None


def _instant(word: str, at: object) -> datetime:
    if not isinstance(at, datetime) or at.utcoffset() is None:
        raise FollowupError(word, f"{word} must be a time with its offset from UTC.")
    return at.astimezone(UTC)


def _step(
    template: Template, rule: StepRule, anchor_at: datetime | None, tz: ZoneInfo, hours: DayHours
) -> Step:
    due_at, moved_from = (None, None) if anchor_at is None else _due(rule, anchor_at, tz, hours)
    hard = None if due_at is None or rule.slack_h is None else timedelta(hours=rule.slack_h)
    return Step(
        template=template.code,
        procedure=template.procedure,
        number=rule.number,
        who=rule.who,
        action=rule.action,
        importance=rule.importance,
        escalate_if=rule.escalate_if,
        source_keys=rule.source_keys,
        anchor=rule.anchor,
        due_at=due_at,
        waiting_for=rule.anchor if due_at is None else None,
        not_before=due_at - hard if due_at and hard else None,
        not_after=due_at + hard if due_at and hard else None,
        moved_from=moved_from,
    )


def _due(rule: StepRule, anchor_at: datetime, tz: ZoneInfo, hours: DayHours) -> tuple[datetime, date | None]:
    """Return the instant, and the weekend day that it was moved from if it was."""
    if rule.unit is Unit.HOURS:
        return anchor_at + timedelta(hours=rule.offset), None
    if rule.offset == 0 and rule.who in (Who.FARMER, Who.SYSTEM):
        return anchor_at, None  # the farmer stands beside the animal, and the system keeps no hours
    local = anchor_at.astimezone(tz)
    day = local.date() + timedelta(days=rule.offset)
    moved = _after_weekend(day, hours) if rule.importance is not Importance.MUST else day
    due = datetime.combine(moved, _within(local.time(), hours), tzinfo=tz).astimezone(UTC)
    return max(due, anchor_at), day if moved != day else None


def _within(clock: time, hours: DayHours) -> time:
    """The clock time of the event itself, brought into the practice's hours."""
    return min(max(clock, hours.opens), hours.closes)


def _after_weekend(day: date, hours: DayHours) -> date:
    while day.weekday() in hours.weekend:
        day += timedelta(days=1)
    return day
