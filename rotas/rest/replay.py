"""Replay worked cases: measured, required and margin beside what was expected, without a database.

The form is that of the project's `rest_cases.json`: naive local times with a zone, hours elapsed.
Stand-by at home counts as far as it was worked; in full where the case rests on a holding that says so
(`case_law`), or says `"standby_in_full": true`.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, tzinfo
from itertools import pairwise
from typing import Any
from zoneinfo import ZoneInfo

from rotas.rest.breaches import consecutive_days
from rotas.rest.case_law import rests_on_full_standby
from rotas.rest.intervals import DAY, ZERO, Duty, DutyKind, Span, chains, gaps, longest_gap, total
from rotas.rest.localtime import hours, weeks
from rotas.rest.log import DutyLog
from rotas.rest.measure import (
    average_night,
    average_week,
    daily_rest_by_gap,
    driving_after,
    driving_without_break,
    duty_days,
    since_restart,
    worked_in,
)
from rotas.rest.next_duty import earliest_next_duty
from rotas.rest.rules import UNITS, Measure, Rule, RuleSet, all_rules

Case = Mapping[str, Any]
KINDS = {
    "work": DutyKind.WORK,
    "oncall_workplace": DutyKind.WORKPLACE,
    "standby_home": DutyKind.AT_HOME,
    "callout": DutyKind.CALL_OUT,
    "phone": DutyKind.PHONE_ADVICE,
    "travel_home": DutyKind.DRIVE_HOME,
    "drive": DutyKind.DRIVING,
    "on_duty_not_driving": DutyKind.WORK,
}
ELEVEN_HOURS, FOURTEEN_HOURS = "US_DRIVE_11", "US_WINDOW_14"
DIGITS = 4


@dataclass(frozen=True)
class Replayed:
    """One case: expected beside computed; `skipped` says why nothing was computed."""

    id: str
    title: str
    rule_id: str
    expected: Mapping[str, Any]
    got: Mapping[str, Any]
    skipped: str = ""

    @property
    def differences(self) -> dict[str, tuple[Any, Any]]:
        """Return expected and got for every field that differs."""
        return {
            key: (value, self.got.get(key, "not computed"))
            for key, value in self.expected.items()
            if key not in self.got or not _same(value, self.got[key])
        }

    @property
    def agrees(self) -> bool:
        """Every expected field was computed and is equal."""
        return not self.skipped and bool(self.expected) and not self.differences


def _same(expected: Any, got: Any) -> bool:
    """Compare numbers to the printed digits and everything else exactly; True is not 1."""
    plain = (int, float)
    if isinstance(expected, bool) or isinstance(got, bool):
        return expected is got
    if isinstance(expected, plain) and isinstance(got, plain):
        return abs(expected - got) <= 0.5 * 10**-DIGITS
    if isinstance(expected, list) and isinstance(got, list):
        return len(expected) == len(got) and all(map(_same, expected, got))
    return bool(expected == got)


def replay(document: Mapping[str, Any]) -> tuple[Replayed, ...]:
    """Compute every case of a document; one that no rule here covers is named and skipped with the reason."""
    return tuple(replay_case(case) for case in document["cases"])


def replay_case(case: Case) -> Replayed:
    """Compute one case."""
    rule = all_rules().get(case["ruleset"])
    told = (str(case["id"]), str(case.get("title", "")), str(case["ruleset"]), case["expected"])
    if rule is None or rule.value is None or (rule.measure is None and "inputs" not in case):
        return Replayed(*told, {}, skipped=f"No rule {case['ruleset']} is measured here.")
    if "intervals" not in case and "inputs" not in case:
        return Replayed(*told, {}, skipped="The case gives neither intervals nor inputs.")
    strange = {row["kind"] for row in case.get("intervals", ())} - KINDS.keys() - {"rest"}
    if strange:
        return Replayed(
            *told, {}, skipped=f"Intervals of the kind {', '.join(sorted(strange))} are not known here."
        )
    return Replayed(*told, dict(_computed(case, rule)))


def _computed(case: Case, rule: Rule) -> Iterator[tuple[str, Any]]:
    if "inputs" in case:
        yield from _from_inputs(case["inputs"], rule)
        return
    log = _log(case)
    if not log.counted:
        return
    if rule.measure == Measure.WEEKLY_REST:
        yield from _weekly(log, case, rule)
    elif rule.measure == Measure.DAILY_REST:
        yield from _daily(log, rule)
    elif log.driven and rule.measure in (Measure.DRIVE_HOURS, Measure.DRIVE_WINDOW):
        yield from _driving(log, rule)
    else:
        yield from _verdict(*_measured(log, rule, _hull(case, log)))


def _verdict(measured: float, required: float, sense: str) -> Iterator[tuple[str, Any]]:
    margin = measured - required if sense == "min" else required - measured
    yield "measured_h", measured
    yield "required_h" if sense == "min" else "required_max_h", required
    yield "margin_h", margin
    yield "compliant", margin >= 0


def _measured(log: DutyLog, rule: Rule, hull: Span) -> tuple[float, float, str]:
    """Return the hours that the rule measures, its limit in hours and its sense."""
    window, last = rule.window or DAY, log.counted[-1]
    limit = hours(rule.amount)
    if rule.measure == Measure.DRIVE_AFTER_DUTY:
        until = log.driven[-1].end if log.driven else last.end
        restart = all_rules()["US_RESTART_34"].amount
        return hours(since_restart(log, until, window, restart)), limit, rule.sense
    if rule.measure == Measure.DRIVE_BREAK:
        return hours(driving_without_break(log, hull, rule.amount)), hours(window), "max"
    if rule.measure == Measure.ROLLING_HOURS:
        most = max(worked_in(log, Span(span.end - window, span.end)) for span in log.counted)
        return hours(most), limit, rule.sense
    if rule.measure == Measure.AVERAGE_WEEK:
        return hours(average_week(total(log.counted), ZERO, window / timedelta(weeks=1))), limit, rule.sense
    if rule.measure == Measure.PLANNED_DUTY:
        return max(hours(span.length) for span in log.counted), limit, rule.sense
    return hours(longest_gap(log.counted, hull)), limit, rule.sense


def _from_inputs(inputs: Mapping[str, Any], rule: Rule) -> Iterator[tuple[str, Any]]:
    given_limit = rule.value if rule.measure is None or rule.unit not in UNITS else hours(rule.amount)
    limit = float(inputs.get("limit_h", given_limit))
    if "weeks_or_days" in inputs:
        worked = timedelta(hours=inputs["hours_in_reference_period"])
        added = timedelta(hours=inputs.get("added_hours_for_excluded_days", 0))
        if rule.measure == Measure.NIGHT_AVERAGE:
            measured = average_night(worked + added, inputs["weeks_or_days"])
        else:
            measured = average_week(worked, added, inputs["weeks_or_days"])
        yield from _verdict(hours(measured), limit, rule.sense)
        return
    given = [float(value) for key, value in inputs.items() if key != "limit_h"]
    if len(given) == 1:
        found = dict(_verdict(given[0], limit, rule.sense))
        yield from found.items()
        yield from ((f"{name[:-1]}{rule.unit}", value) for name, value in found.items() if name[-2:] == "_h")


def _zone(case: Case) -> tzinfo:
    return ZoneInfo(case["timezone"]) if case.get("timezone") else UTC


def _log(case: Case) -> DutyLog:
    tz = _zone(case)
    duties = tuple(
        Duty(_moment(row["start"], tz), _moment(row["end"], tz), KINDS[row["kind"]])
        for row in case["intervals"]
        if row["kind"] != "rest"
    )
    in_full = case.get("standby_in_full", rests_on_full_standby(_grounds(case)))
    return DutyLog(duties, tz, standby_in_full=bool(in_full))


def _grounds(case: Case) -> str:
    return f"{case.get('basis', '')} {case.get('reading', '')}"


def _moment(text: str, tz: tzinfo) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=tz)


def _hull(case: Case, log: DutyLog) -> Span:
    """From the first to the last moment that the case speaks of, rest rows included."""
    ends = [_moment(row[edge], log.tz) for row in case["intervals"] for edge in ("start", "end")]
    return Span(min(ends), max(ends))


def _text(moment: datetime, tz: tzinfo) -> str:
    return f"{moment.astimezone(tz):%Y-%m-%dT%H:%M}"


def _daily(log: DutyLog, rule: Rule) -> Iterator[tuple[str, Any]]:
    need, first, last = hours(rule.amount), log.counted[0], (log.planned or log.counted)[-1]
    day = next(duty_days(log.counted))
    inside = hours(longest_gap(log.counted, day))
    rests = [found.amount for found in daily_rest_by_gap(log, rule.amount) if found.moment > first.start]
    measured = hours(min(rests, default=longest_gap(log.counted, day)))
    yield from _verdict(measured, need, rule.sense)
    yield from _readings(measured, inside, need)
    yield (
        "rest_blocks_h",
        [hours(gap.length) for gap in gaps(log.counted, Span(first.start, log.counted[-1].end))],
    )
    yield "compensatory_rest_owed_h", max(0.0, need - measured)
    yield "continuous_work_h", max(hours(span.length) for span in log.counted)
    yield from _next_start(log, rule, last)
    yield from _wall_clock(log)


def _readings(gap: float, inside: float, need: float) -> Iterator[tuple[str, Any]]:
    for name, value in (("gap", gap), ("window", inside)):
        yield f"{name}_compliant", value >= need
        yield f"{name}_margin_h", value - need
    yield "gap_h", gap
    yield "rest_inside_24h_from_duty_start_h", inside
    yield "rest_in_first_24h_h", inside


def _next_start(log: DutyLog, rule: Rule, last: Span) -> Iterator[tuple[str, Any]]:
    """The earliest start after the work before the last planned duty, or after all of it if there is one."""
    earlier = log.until(last.start) if len(log.planned) > 1 else log
    found = earliest_next_duty(earlier.duties, RuleSet(rule.rule_id, rule.statement, (rule,)), log.tz)
    if found is not None:
        restart = earlier.counted[-1].end + rule.amount
        yield "earliest_next_start", _text(found.at, log.tz)
        yield "earliest_next_start_if_rest_restarts_after_callout", _text(restart, log.tz)


def _wall_clock(log: DutyLog) -> Iterator[tuple[str, Any]]:
    if len(log.counted) > 1:
        before, after = log.counted[-2:]
        shown = after.start.astimezone(log.tz).replace(tzinfo=None) - before.end.astimezone(log.tz).replace(
            tzinfo=None
        )
        yield "wall_clock_h", hours(shown)


def _weekly(log: DutyLog, case: Case, rule: Rule) -> Iterator[tuple[str, Any]]:
    hull, need = _hull(case, log), hours(rule.amount)
    yield from _verdict(hours(longest_gap(log.counted, hull)), need, rule.sense)
    rests = [longest_gap(log.counted, week) for week in weeks(hull, log.tz)]
    for number, rest in enumerate(rests, start=1):
        yield f"period{number}_rest_h", hours(rest)
    yield "compliant_fixed_periods", all(hours(rest) >= need for rest in rests)
    yield "consecutive_working_days", consecutive_days(log)
    daily = [after.start - before.end for before, after in pairwise(log.counted)]
    yield "smallest_daily_gap_h", hours(min(daily, default=DAY))


def _driving(log: DutyLog, rule: Rule) -> Iterator[tuple[str, Any]]:
    rules = all_rules()
    driven, period = log.driven, chains(log.counted, rules["US_OFF_10"].amount)[0]
    most, closes = rules[ELEVEN_HOURS].amount, period.start + rules[FOURTEEN_HOURS].amount
    late = driving_after(driven, closes, period.end)
    since_start = driven[-1].end - period.start
    measured = total(driven) if rule.measure == Measure.DRIVE_HOURS else since_start
    yield from _verdict(hours(measured), hours(rule.amount), rule.sense)
    yield "driving_h", hours(total(driven))
    yield "window_h_at_last_drive_minute", hours(since_start)
    yield "eleven_hour_ok", total(driven) <= most
    yield "fourteen_hour_ok", not late
    yield "minutes_driven_after_14h", late / timedelta(minutes=1)
