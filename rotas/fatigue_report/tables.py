"""The report as tables of plain values: the one source of the page, the spreadsheet and the paper.

A cell is a value and never a finished text, so that no file rounds a figure in its own way.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum

from rotas.builder.counts import BANK_HOLIDAYS, NIGHTS, WEEKENDS
from rotas.fatigue_report.fairness import LATE_HOURS, WOKEN
from rotas.fatigue_report.report import Report
from rotas.fatigue_report.row import Row
from rotas.rest.told import judged_by

Cell = str | int | float | timedelta | date | datetime | None


class Kind(StrEnum):
    """What the values of a column are."""

    TEXT = "text"
    HOURS = "hours"
    COUNT = "count"
    FIGURE = "figure"
    DAY = "day"
    MOMENT = "moment"

    @property
    def is_number(self) -> bool:
        """Say whether it stands to the right."""
        return self in (Kind.HOURS, Kind.COUNT, Kind.FIGURE)


@dataclass(frozen=True)
class Column:
    """`key` heads the column in files, `title` on the page and on paper."""

    key: str
    title: str
    kind: Kind = Kind.TEXT


@dataclass(frozen=True)
class Table:
    """One table; `note` says what the figures are and are not."""

    key: str
    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    note: str = ""

    @property
    def lines(self) -> Iterator[list[tuple[Column, Cell]]]:
        """The rows, each value with its column."""
        return (list(zip(self.columns, row, strict=True)) for row in self.rows)


VET = (Column("code", "Vet"), Column("name", "Name"))
COUNTS = (
    (NIGHTS, "Night points", "a first night 1, a second 0.5, half as much again from February to May"),
    (WEEKENDS, "Fri, Sat, Sun", "nights of the weekend, a second 0.5"),
    (BANK_HOLIDAYS, "Bank holidays", "Christmas, New Year and Easter double"),
    (LATE_HOURS, "Late hours", "hours really worked between 22:00 and 06:00"),
    (WOKEN, "Times woken", "contacts from 23:00 to 06:00 that found the vet settled"),
)


def hours_table(report: Report) -> Table:
    """Raw hours first."""
    columns = (
        *VET,
        Column("worked_h", "Worked", Kind.HOURS),
        Column("standby_h", "Stand-by", Kind.HOURS),
        Column("call_outs", "Call-outs", Kind.COUNT),
        Column("phone_calls", "Telephone", Kind.COUNT),
        Column("disturbed_nights", "Disturbed nights", Kind.COUNT),
        Column("nights_on_duty", "Nights on duty", Kind.COUNT),
        Column("nights_running", "Nights in a row", Kind.COUNT),
        Column("longest_rest_h", "Longest rest", Kind.HOURS),
        Column("average_week_h", "Average week", Kind.HOURS),
        Column("words", "In words"),
    )
    told = judged_by(report.asked.rule_set, report.asked.reading)
    note = f"{told} The average is of the whole weeks that are listed."
    return Table("hours", "Hours", columns, tuple(_hours(row) for row in report.rows), note)


def _hours(row: Row) -> tuple[Cell, ...]:
    facts = row.facts
    return (
        row.person.code, row.person.name, facts.worked, facts.standby, facts.call_outs, facts.phone_calls,
        len(facts.disturbed_nights), facts.nights_on_duty, facts.longest_nights_running, facts.longest_rest,
        row.weeks.average, row.words,
    )  # fmt: skip


def rest_table(report: Report) -> Table:
    """Rules, signatures, rest owed, the road by night, the model's worst hour."""
    columns = (
        *VET,
        Column("breaches", "Rules broken", Kind.COUNT),
        Column("signed", "Signed for", Kind.COUNT),
        Column("rest_owed_h", "Rest owed", Kind.HOURS),
        Column("rest_overdue_h", "Overdue", Kind.HOURS),
        Column("drive_km", "Driven, km", Kind.FIGURE),
        Column("night_drive_km", "By night, km", Kind.FIGURE),
        Column("night_drive_h", "By night at the wheel", Kind.HOURS),
        Column("worst_sleepiness", "Sleepiest at work, 1 to 9", Kind.FIGURE),
        Column("worst_sleepiness_at", "At", Kind.MOMENT),
        Column("seen_by_vet", "Seen by the vet", Kind.MOMENT),
        Column("vet_says", "The vet says"),
    )
    note = (
        "Kilometres as far as they were written down; the wheel counts drives home. "
        "By night is 22:00 to 06:00. Sleepiness is predicted from duties: an estimate for people in "
        "general, which clears nobody."
    )
    return Table(
        "rest", "Rest, and the road by night", columns, tuple(_rest(report, row) for row in report.rows), note
    )


def _rest(report: Report, row: Row) -> tuple[Cell, ...]:
    worst = report.predicted[row.person.key].worst
    looked = row.looked
    return (
        row.person.code, row.person.name, len(row.breaches), len(row.signed), row.owed_amount, row.overdue,
        row.driving.km, row.driving.night_km, row.driving.night_time,
        worst.kss if worst else None, worst.at if worst else None,
        looked.at if looked else None, looked.says if looked else "",
    )  # fmt: skip


def reasons_table(report: Report) -> Table:
    """Why the words say so: every number of the state that is not green."""
    rows = (
        (row.person.code, row.person.name, flag.level.value, flag.sentence)
        for row in report.rows
        for flag in row.state.flags
        if flag.sentence in row.state.reasons
    )
    columns = (*VET, Column("level", "Level"), Column("sentence", "Why"))
    return Table("reasons", "Why the words say so", columns, tuple(rows), "At the end of the period, or now.")


def breaches_table(report: Report) -> Table:
    """Every rule broken in the period."""
    rows = (
        (row.person.code, row.person.name, each.moment, each.rule.name, each.shortfall, each.sentence)
        for row in report.rows
        for each in row.breaches
    )
    columns = (
        *VET, Column("moment", "When", Kind.MOMENT), Column("rule", "Rule"),
        Column("by_h", "By", Kind.HOURS), Column("sentence", "What"),
    )  # fmt: skip
    return Table("breaches", "Rules broken", columns, tuple(rows))


def signed_table(report: Report) -> Table:
    """Every limit passed in the period by somebody's word."""
    rows = (
        (row.person.code, row.person.name, each.at, each.named, timedelta(minutes=each.passed_by_min),
         each.approved_by, each.reason)
        for row in report.rows
        for each in row.signed
    )  # fmt: skip
    columns = (
        *VET, Column("approved_at", "When", Kind.MOMENT), Column("rule", "Rule"),
        Column("by_h", "By", Kind.HOURS), Column("approved_by", "Signed by"), Column("reason", "Reason"),
    )  # fmt: skip
    return Table("signed", "Limits knowingly passed", columns, tuple(rows))


def owed_table(report: Report) -> Table:
    """Rest still to be given."""
    now = report.asked.now
    rows = (
        (row.person.code, row.person.name, each.amount, each.due_by, "overdue" if each.overdue(now) else "",
         each.because)
        for row in report.rows
        for each in row.owed
    )  # fmt: skip
    columns = (
        *VET, Column("rest_owed_h", "Owed", Kind.HOURS), Column("due_by", "By", Kind.MOMENT),
        Column("overdue", "Overdue"), Column("because", "Because"),
    )  # fmt: skip
    return Table("owed", "Rest owed and not given", columns, tuple(rows))


def weeks_table(report: Report) -> Table:
    """Hours worked in each whole week of the reference period."""
    mondays = sorted({week.monday for row in report.rows for week in row.weeks.weeks})
    columns = (
        *VET,
        Column("average_week_h", "Average", Kind.HOURS),
        Column("most_h", "At most", Kind.HOURS),
        *(Column(f"week_{monday:%Y%m%d}_h", f"{monday.day} {monday:%b}", Kind.HOURS) for monday in mondays),
    )
    rows = tuple(_weeks(row, mondays) for row in report.rows)
    note = f"Whole weeks from the Monday named, {len(mondays)} of them; leave is added back to the average."
    return Table("weeks", "Hours per week", columns, rows, note)


def _weeks(row: Row, mondays: list[date]) -> tuple[Cell, ...]:
    worked = {week.monday: week.worked for week in row.weeks.weeks}
    person, weeks = row.person, row.weeks
    return (person.code, person.name, weeks.average, weeks.most, *(worked.get(each) for each in mondays))


def ahead_table(report: Report) -> Table:
    """The coming seven days, a line for each reason."""
    rows = (
        (each.person.code, each.person.name, each.shifts, each.words, reason)
        for each in report.ahead
        for reason in each.reasons or ("",)
    )
    columns = (
        *VET,
        Column("shifts", "Shifts", Kind.COUNT),
        Column("words", "In words"),
        Column("why", "Why"),
    )
    note = "The published rota alone: calls come on top, so it is the least that it will be."
    return Table("ahead", "The next 7 days if the rota stays", columns, tuple(rows), note)


def fairness_table(report: Report) -> Table:
    """What each vet had of what nobody wants, and the share that was fair."""
    fair = report.fairness
    shown_keys = {row.person.key for row in report.rows}
    columns = (
        *VET,
        Column("first_nights", "First nights", Kind.COUNT),
        Column("second_nights", "Second nights", Kind.COUNT),
        Column("lambing_nights", "Spring nights", Kind.COUNT),
        *(
            column
            for name, title, _ in COUNTS
            for column in (
                Column(name, title, Kind.FIGURE),
                Column(f"{name}_fair", "fair share", Kind.FIGURE),
            )
        ),
        Column("christmases", "Christmas worked"),
    )
    rows: list[tuple[Cell, ...]] = []
    for each in sorted(fair.rows, key=lambda row: (len(row.person.code), row.person.code)):
        if each.person.key in shown_keys:
            plain = [int(each.counted[name]) for name in ("first_nights", "second_nights", "lambing_nights")]
            pairs = (
                figure
                for name, _, _ in COUNTS
                for figure in (each.counted[name], fair.spread(name).fair.get(str(each.person.key), 0.0))
            )
            years = ", ".join(map(str, each.christmases))
            rows.append((each.person.code, each.person.name, *plain, *pairs, years))
    note = (
        f"{_day(fair.first)} to {_day(fair.last)}. The fair share is in proportion to contract and days "
        f"here; leave builds no debt. "
        + "; ".join(f"{title}: {words}" for _, title, words in COUNTS)
        + " [cp]."
    )
    return Table("fairness", "Shared fairly?", columns, tuple(rows), note)


def spread_table(report: Report) -> Table:
    """The spread of every count over the practice, without names."""
    rows = []
    for name, title, _ in COUNTS:
        apart = sorted(report.fairness.spread(name).ahead.values())
        if apart:
            rows.append((title, apart[0], apart[-1], apart[-1] - apart[0]))
    columns = (
        Column("count", "Count"),
        Column("furthest_behind", "Furthest below the fair share", Kind.FIGURE),
        Column("furthest_ahead", "Furthest above it", Kind.FIGURE),
        Column("spread", "Spread", Kind.FIGURE),
    )
    return Table("spread", "Spread over the practice", columns, tuple(rows))


def trend_table(report: Report) -> Table:
    """Month by month."""
    columns = (
        Column("month", "Month"),
        Column("worked_h", "Worked", Kind.HOURS),
        Column("standby_h", "Stand-by", Kind.HOURS),
        Column("call_outs", "Call-outs", Kind.COUNT),
        Column("disturbed_nights", "Disturbed nights", Kind.COUNT),
        Column("broken_nights", "Broken rests", Kind.COUNT),
        Column("breaches", "Rules broken", Kind.COUNT),
        Column("signed", "Signed for", Kind.COUNT),
        Column("owed_h", "Rest owed", Kind.HOURS),
        Column("given_back_h", "Rest given", Kind.HOURS),
    )
    rows = tuple(
        (f"{each.first:%b %Y}" + ("" if each.whole else ", so far"), each.worked, each.standby,
         each.call_outs, each.disturbed_nights, each.broken_nights, each.breaches, each.signed, each.owed,
         each.given_back)
        for each in report.months
    )  # fmt: skip
    note = "Together, of the vets shown. A broken rest is a night on call that left too little of it."
    return Table("trend", "Month by month", columns, rows, note)


def sleepiness_table(report: Report) -> Table:
    """The worst moment at work of each day as the model has it, with its band."""
    rows = (
        (row.person.code, row.person.name, each.day, each.at, each.kss, each.low, each.high)
        for row in report.rows
        for each in report.predicted[row.person.key].days
    )
    columns = (
        *VET, Column("day", "Day", Kind.DAY), Column("at", "Sleepiest at", Kind.MOMENT),
        Column("kss", "Sleepiness", Kind.FIGURE), Column("kss_low", "from", Kind.FIGURE),
        Column("kss_high", "to", Kind.FIGURE),
    )  # fmt: skip
    note = "Karolinska scale, 1 very alert to 9 fighting sleep; predicted from duties, an estimate."
    return Table("sleepiness", "Predicted sleepiness at work", columns, tuple(rows), note)


def notes_table(report: Report) -> Table:
    """What will change."""
    rows = (
        (row.person.code, row.person.name, note.week, note.text, note.by, note.at)
        for row in report.rows
        for note in row.notes
    )
    columns = (
        *VET, Column("week", "Week from", Kind.DAY), Column("text", "What will change"),
        Column("by", "Written by"), Column("at", "When", Kind.MOMENT),
    )  # fmt: skip
    return Table("notes", "What will change", columns, tuple(rows))


def _day(day: date) -> str:
    return f"{day.day} {day:%b %Y}"


TABLES: tuple[Callable[[Report], Table], ...] = (
    hours_table, rest_table, reasons_table, breaches_table, signed_table, owed_table, notes_table,
    weeks_table, ahead_table, fairness_table, spread_table, trend_table, sleepiness_table,
)  # fmt: skip


def tables(report: Report) -> tuple[Table, ...]:
    """Return every table in the order in which it is read."""
    return tuple(make(report) for make in TABLES)
