"""By when: service runs from the call, biology from onset, and the tighter of the two decides [cp]."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from cases.triage.catalogue import Complaint
from cases.triage.errors import AnswerError
from cases.triage.report import CallReport, VetWord
from cases.triage.targets import ArrivalTargets, next_clock
from cases.triage.vocabulary import Urgency

WorkingDay = Callable[[date], bool]
SEARCH_DAYS = 60


def monday_to_friday(day: date) -> bool:
    """The working days of a practice that has told us no holidays."""
    return day.weekday() < 5


@dataclass(frozen=True)
class Clocks:
    """The practice's targets and clock: what a deadline needs beside the call itself."""

    targets: ArrivalTargets
    tz: ZoneInfo
    is_working_day: WorkingDay = monday_to_friday

    def is_night(self, instant: datetime) -> bool:
        return self.targets.is_night(instant, self.tz)


@dataclass(frozen=True)
class Deadline:
    """`word_holds` says whether the vet's own time or leave-till-morning decided the arrival."""

    arrive_by: datetime | None
    target_at: datetime | None
    worse_at: datetime | None
    biology_passed: bool
    vet_phone_by: datetime
    visit_wanted: bool
    booked: bool
    window: tuple[datetime, datetime] | None
    vet_decision_wanted: bool
    named_by_vet: bool


def set_deadline(
    complaint: Complaint,
    report: CallReport,
    urgency: Urgency,
    clocks: Clocks,
    *,
    word: VetWord | None = None,
    well: bool = False,
    notifiable: bool = False,
) -> Deadline:
    """Return every time that the call sets.

    `word` is the vet's decision if it still holds. `well` means that nothing which could make the call more
    urgent is unanswered, so that advice by night may wait for the morning.
    """
    visit_wanted = urgency is not Urgency.ADVICE and not complaint.phone_only
    booked = complaint.scheduled and urgency >= complaint.base_class
    window = _window(complaint, report)
    worse_at = _worse_at(complaint, report)
    owed = visit_wanted and not booked
    target_at = _target(complaint, report, urgency, clocks, word) if owed else None
    passed = owed and worse_at is not None and worse_at < _earliest(report, clocks)
    arrive_by = window[1] if booked and window else None
    if target_at is not None:
        arrive_by = _arrival(report, clocks, target_at, None if passed else worse_at)
    named = word.arrive_by if word and visit_wanted else None
    return Deadline(
        arrive_by=_named(named, report) or arrive_by,
        target_at=target_at,
        worse_at=worse_at,
        biology_passed=passed,
        vet_phone_by=_phone_by(complaint, report, urgency, clocks, well=well, notifiable=notifiable),
        visit_wanted=visit_wanted,
        booked=booked,
        window=window,
        vet_decision_wanted=_vet_decision_wanted(report, urgency, clocks, word) if owed else False,
        named_by_vet=named is not None,
    )


def _window(complaint: Complaint, report: CallReport) -> tuple[datetime, datetime] | None:
    hard = complaint.hard_window
    if report.window is not None or hard is None or report.anchor_at is None:
        return report.window
    middle = report.anchor_at + timedelta(hours=hard.after_h)
    slack = timedelta(hours=hard.slack_h)
    return middle - slack, middle + slack


def _worse_at(complaint: Complaint, report: CallReport) -> datetime | None:
    if report.onset_at is None or complaint.worse_after_min is None:
        return None
    return report.onset_at + timedelta(minutes=complaint.worse_after_min)


def _earliest(report: CallReport, clocks: Clocks) -> datetime:
    return report.called_at + timedelta(minutes=clocks.targets.earliest_min)


def _arrival(report: CallReport, clocks: Clocks, target_at: datetime, worse_at: datetime | None) -> datetime:
    soonest = target_at if worse_at is None else min(target_at, worse_at)
    return max(soonest, _earliest(report, clocks))


def _target(
    complaint: Complaint, report: CallReport, urgency: Urgency, clocks: Clocks, word: VetWord | None
) -> datetime:
    """Return when the vet should be there by the service clock alone."""
    by_class = _class_target(report, urgency, clocks)
    own_min = _own_target_min(complaint, clocks.targets)
    own = None if own_min is None else report.called_at + timedelta(minutes=own_min)
    if urgency is Urgency.SAME_DAY and _left_till_morning(word) and clocks.is_night(report.called_at):
        return next_clock(report.called_at, clocks.targets.morning_by, clocks.tz)
    if own is None or urgency > complaint.base_class:
        return by_class
    return own if urgency is complaint.base_class else min(own, by_class)


def _own_target_min(complaint: Complaint, targets: ArrivalTargets) -> int | None:
    """Return the complaint's own arrival target; an advice row's minutes are for the telephone."""
    if complaint.base_class is Urgency.ADVICE:
        return None
    return targets.complaint_min.get(complaint.code, complaint.target_arrival_min)


def _class_target(report: CallReport, urgency: Urgency, clocks: Clocks) -> datetime:
    if urgency is Urgency.NEXT_WORKING_DAY:
        return _next_working_day(report.called_at, clocks)
    targets = clocks.targets
    minutes = {Urgency.IMMEDIATE: targets.immediate_min, Urgency.URGENT: targets.urgent_min}
    return report.called_at + timedelta(minutes=minutes.get(urgency, targets.same_day_min))


def _next_working_day(called_at: datetime, clocks: Clocks) -> datetime:
    """Return the end of the next working day. A call before the day has begun may still be that day's job."""
    local = called_at.astimezone(clocks.tz)
    first = local.date() + timedelta(days=0 if local.time() < clocks.targets.night_until else 1)
    for later in range(SEARCH_DAYS):
        day = first + timedelta(days=later)
        if clocks.is_working_day(day):
            end = datetime.combine(day, clocks.targets.next_working_day_by, tzinfo=clocks.tz)
            return end.astimezone(called_at.tzinfo)
    raise ValueError(f"there is no working day within {SEARCH_DAYS} days of {local.date()}")


def _left_till_morning(word: VetWord | None) -> bool:
    return word is not None and (word.till_morning or word.lower_to is Urgency.SAME_DAY)


def _vet_decision_wanted(report: CallReport, urgency: Urgency, clocks: Clocks, word: VetWord | None) -> bool:
    decided = word is not None and (_left_till_morning(word) or word.arrive_by is not None)
    return urgency is Urgency.SAME_DAY and not decided and clocks.is_night(report.called_at)


def _named(arrive_by: datetime | None, report: CallReport) -> datetime | None:
    if arrive_by is not None and arrive_by <= report.called_at:
        raise AnswerError("arrive_by", "The vet's time of arrival must be later than the call.")
    return arrive_by


def _phone_by(
    complaint: Complaint,
    report: CallReport,
    urgency: Urgency,
    clocks: Clocks,
    *,
    well: bool,
    notifiable: bool,
) -> datetime:
    """Return by when a vet telephones."""
    targets = clocks.targets
    booked = complaint.scheduled and urgency >= complaint.base_class
    can_wait = (urgency is Urgency.ADVICE and well) or booked
    if can_wait and not notifiable and clocks.is_night(report.called_at):
        return next_clock(report.called_at, targets.advice_phone_by, clocks.tz)
    minutes = complaint.vet_phone_within_min
    if urgency < complaint.base_class or urgency is Urgency.ADVICE:
        minutes = min(minutes, targets.phone_min(urgency))
    if notifiable:
        minutes = min(minutes, targets.notifiable_phone_min)
    return report.called_at + timedelta(minutes=minutes)
