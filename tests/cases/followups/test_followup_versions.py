"""Versions of the follow-up table: released ones stay as they are, and what is owed keeps its own."""

import csv
import os
from datetime import UTC, date, datetime, timedelta
from hashlib import sha256
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cases.followups import (
    FollowupError,
    TableError,
    Unit,
    plan_followups,
    table_now,
    table_of,
    tables,
    template_for,
    templates,
)
from cases.followups.templates import COLUMNS
from cases.followups.versions import load_tables

HERE = Path(__file__).resolve().parents[3]
SOURCE = Path(os.environ.get("FOLLOWUPS_TABLE", HERE.parent / "shared" / "trade" / "followups.csv"))
LONDON = ZoneInfo("Europe/London")
ROW = ",".join(COLUMNS) + "\nfu_x,X,1,{},h,visit_end,lab,look,must,,cp\n"


def a_folder(folder: Path, *lines: str, **tables: str) -> Path:
    """Write tables and their list; a line may leave its digest to be filled in."""
    for name, text in tables.items():
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    digest = {name: sha256(text.encode()).hexdigest() for name, text in tables.items()}
    listed = "version,since,file,sha256,what_changed\n" + "".join(
        line.format(**digest) + "\n" for line in lines
    )
    (folder / "versions.csv").write_text(listed, encoding="utf-8")
    return folder


@pytest.mark.skipif(
    not SOURCE.is_file(), reason=f"the table's source is not at {SOURCE}; FOLLOWUPS_TABLE may name it"
)
def test_all_175_steps_are_those_of_the_source_and_none_is_missing() -> None:
    with SOURCE.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    steps = [(code, step) for code, template in templates().items() for step in template.steps]
    assert (len(rows), len(steps), len(templates())) == (175, 175, 60)
    read = [
        {
            "template": code, "procedure": template_for(code).procedure, "step": str(step.number),
            "offset_value": str(step.offset), "offset_unit": step.unit.value, "anchor": step.anchor.value,
            "who": step.who.value, "action": step.action, "importance": step.importance.value,
            "escalate_if": step.escalate_if, "source_keys": ";".join(step.source_keys),
        }
        for code, step in steps
    ]  # fmt: skip
    assert read == rows


def test_the_newest_version_is_the_one_that_new_rechecks_come_from() -> None:
    assert list(tables())[-1] == table_now().version
    assert table_of(table_now().version) is table_now()
    assert (table_now().steps, table_now().since <= date(2026, 3, 1)) == (175, True)
    with pytest.raises(FollowupError):
        table_of("1999.1")
    with pytest.raises(FollowupError):
        template_for("fu_calving", "1999.1")


def test_two_versions_stand_beside_each_other(tmp_path: Path) -> None:
    lines = ("2026.9,2026-03-01,a,{a},first".replace(",a,", ",a.csv,"), "2026.10,2026-03-01,b.csv,{b},longer")
    found = load_tables(a_folder(tmp_path, *lines, a=ROW.format(12), b=ROW.format(24)))
    assert list(found) == ["2026.9", "2026.10"], "versions count, they are not decimals"
    assert [table.templates["fu_x"].steps[0].offset for table in found.values()] == [12, 24]


@pytest.mark.parametrize(
    ("lines", "column"),
    [
        ([], "version"),
        (["2026.1,2026-03-01,a.csv,0000,first"], "sha256"),
        (["2026,2026-03-01,a.csv,{a},first"], "version"),
        (["2026.0,2026-03-01,a.csv,{a},first"], "version"),
        (["2026.1,soon,a.csv,{a},first"], "since"),
        (["2026.1,2026-03-01,no.csv,{a},first"], "file"),
        (["2026.1,2026-03-01,a.csv,{a},"], "what_changed"),
        (["2026.1,2026-03-01,a.csv,{a}"], "version"),
        (["2026.1,2026-03-01,a.csv,{a},first", "2026.1,2026-03-02,a.csv,{a},again"], "version"),
        (["2026.2,2026-03-02,a.csv,{a},first", "2026.3,2026-03-01,a.csv,{a},earlier"], "since"),
    ],
)
def test_a_list_of_versions_that_cannot_be_meant_is_refused(
    tmp_path: Path, lines: list[str], column: str
) -> None:
    with pytest.raises(TableError) as refusal:
        load_tables(a_folder(tmp_path, *lines, a=ROW.format(12)))
    assert refusal.value.column == column
    assert "versions.csv" in str(refusal.value)


def test_a_released_table_cannot_be_edited_in_place(tmp_path: Path) -> None:
    folder = a_folder(tmp_path, "2026.1,2026-03-01,a.csv,{a},first", a=ROW.format(12))
    assert load_tables(folder)
    (folder / "a.csv").write_text(ROW.format(24), encoding="utf-8")
    with pytest.raises(TableError, match="new version"):
        load_tables(folder)


def test_a_folder_without_a_list_is_refused(tmp_path: Path) -> None:
    with pytest.raises(TableError, match=r"versions\.csv"):
        load_tables(tmp_path)
    (tmp_path / "versions.csv").write_text("a,b\n", encoding="utf-8")
    with pytest.raises(TableError, match="columns must be"):
        load_tables(tmp_path)


@pytest.mark.parametrize(
    ("ended", "must_due", "should_due"),
    [
        ("2026-03-02 23:59", "2026-03-06 17:00", "2026-03-06 17:00"),  # four days on is Friday
        ("2026-03-03 00:00", "2026-03-07 09:00", "2026-03-09 09:00"),  # a minute later it is Saturday
        ("2026-03-05 00:00", "2026-03-09 09:00", "2026-03-09 09:00"),  # and Monday is Monday
        ("2026-03-04 23:59", "2026-03-08 17:00", "2026-03-09 17:00"),
    ],
)
def test_friday_2359_stays_and_saturday_0000_moves_unless_it_is_a_must(
    ended: str, must_due: str, should_due: str
) -> None:
    at = datetime.fromisoformat(ended).replace(tzinfo=LONDON)
    step = plan_followups("fu_calving", {"visit_end": at}, LONDON)[2]
    assert step.due_at == datetime.fromisoformat(should_due).replace(tzinfo=LONDON)
    must = plan_followups("fu_tb_reading", {"visit_end": at}, LONDON)[1]
    assert must.must
    assert must.due_at is not None
    expected = datetime.fromisoformat(must_due).replace(tzinfo=LONDON) + timedelta(days=1)
    assert must.due_at == expected, "a must keeps its day, whatever the weekday"


CALM = datetime(2026, 5, 4, tzinfo=UTC)  # no clock changes between May and September in these zones
MINUTES = st.integers(0, 60 * 24 * 60)


@given(
    st.sampled_from(sorted(templates())),
    MINUTES,
    st.integers(1, 4),
    st.sampled_from(["Europe/London", "UTC", "America/St_Johns", "Asia/Kathmandu"]),
)
def test_a_visit_whole_weeks_later_owes_the_same_whole_weeks_later(
    code: str, minutes: int, weeks: int, zone: str
) -> None:
    tz, short = ZoneInfo(zone), 60
    at, week = CALM + timedelta(minutes=minutes), timedelta(weeks=weeks)
    names = [anchor.value for anchor in template_for(code).anchors()]
    first = plan_followups(code, dict.fromkeys(names, at), tz)
    later = plan_followups(code, dict.fromkeys(names, at + week), tz)
    for one, other, rule in zip(first, later, template_for(code).steps, strict=True):
        assert one.due_at is not None
        assert other.due_at is not None
        if rule.unit is Unit.HOURS:
            assert other.due_at == one.due_at + week
        elif rule.offset <= short:
            assert other.due_at.astimezone(tz).replace(tzinfo=None) == (
                one.due_at.astimezone(tz).replace(tzinfo=None) + week
            )


@given(
    st.sampled_from(sorted(templates())),
    MINUTES,
    st.sampled_from(["UTC", "Asia/Kathmandu", "America/St_Johns"]),
)
def test_the_zone_moves_no_hours_step_and_keeps_the_days_of_its_own_calendar(
    code: str, minutes: int, zone: str
) -> None:
    at, tz = CALM + timedelta(minutes=minutes), ZoneInfo(zone)
    names = [anchor.value for anchor in template_for(code).anchors()]
    here = plan_followups(code, dict.fromkeys(names, at), LONDON)
    there = plan_followups(code, dict.fromkeys(names, at), tz)
    local = at.astimezone(tz)
    same_wall_clock = local.replace(tzinfo=LONDON)
    shifted = plan_followups(code, dict.fromkeys(names, same_wall_clock), LONDON)
    for mine, theirs, moved, rule in zip(here, there, shifted, template_for(code).steps, strict=True):
        assert theirs.due_at is not None
        assert mine.due_at is not None
        assert moved.due_at is not None
        if rule.unit is Unit.HOURS:
            assert mine.due_at == theirs.due_at
        elif rule.offset <= 60:
            wall = theirs.due_at.astimezone(tz).replace(tzinfo=None)
            assert wall == moved.due_at.astimezone(LONDON).replace(tzinfo=None)
