"""The follow-up table loads whole, agrees with the complaint table, and refuses what it cannot read."""

import csv
from pathlib import Path

import pytest

import cases.followups
from cases.followups import Anchor, FollowupError, TableError, template_for, templates
from cases.followups.templates import COLUMNS, HARD_SLACK_H, load_templates
from cases.triage import catalogue

FILE = Path(cases.followups.__file__).parent / "data" / "followups.csv"
HEADING = ",".join(COLUMNS)


def raw_rows() -> list[dict[str, str]]:
    with FILE.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_all_60_templates_and_175_steps_load_with_the_figures_of_the_table() -> None:
    steps = [(template, step) for template in templates().values() for step in template.steps]
    assert (len(templates()), len(steps), len(raw_rows())) == (60, 175, 175)
    for (template, step), row in zip(steps, raw_rows(), strict=True):
        assert (template.code, template.procedure) == (row["template"], row["procedure"])
        assert (str(step.number), str(step.offset)) == (row["step"], row["offset_value"])
        assert (step.unit.value, step.anchor.value) == (row["offset_unit"], row["anchor"])
        assert (step.who.value, step.importance.value) == (row["who"], row["importance"])
        assert (step.action, step.escalate_if) == (row["action"], row["escalate_if"])
        assert ";".join(step.source_keys) == row["source_keys"]
        assert step.who.word
        assert step.anchor.word


def test_every_complaint_names_a_template_that_exists() -> None:
    assert {complaint.followup_template for complaint in catalogue()} <= set(templates())


def test_a_template_says_which_events_it_counts_from() -> None:
    expected = {Anchor.VISIT_END, Anchor.FIRST_SIGNS_OF_BIRTH, Anchor.BIRTH}
    assert template_for("fu_vaginal_prolapse").anchors() == expected


def test_hard_windows_belong_to_steps_that_exist_and_count_hours() -> None:
    for (code, number), slack_h in HARD_SLACK_H.items():
        step = template_for(code).steps[number - 1]
        assert (step.slack_h, step.unit.value) == (slack_h, "h")


def test_an_unknown_template_is_refused_by_name() -> None:
    with pytest.raises(FollowupError) as caught:
        template_for("fu_dragon")
    assert caught.value.field == "template"
    assert "fu_dragon" in caught.value.sentence


@pytest.mark.parametrize(
    ("line", "column"),
    [
        ("fu_x,X,2,1,d,visit_end,lab,look,must,,cp", "step"),
        ("fu_x,X,1,-1,d,visit_end,lab,look,must,,cp", "offset_value"),
        ("fu_x,X,1,1,w,visit_end,lab,look,must,,cp", "offset_unit"),
        ("fu_x,X,1,1,d,full_moon,lab,look,must,,cp", "anchor"),
        ("fu_x,X,1,1,d,visit_end,postman,look,must,,cp", "who"),
        ("fu_x,X,1,1,d,visit_end,lab,,must,,cp", "action"),
        ("fu_x,X,1,1,d,visit_end,lab,look,maybe,,cp", "importance"),
        ("fu_x,X,1,1,d,visit_end,lab,look,must,,", "source_keys"),
        ("fu_x,,1,1,d,visit_end,lab,look,must,,cp", "procedure"),
        ("fu_x,X,1,1,d,visit_end,lab,look,must,,cp,extra", "template"),
        ("fu_x,X,1,1", "offset_unit"),
    ],
)
def test_a_bad_cell_is_refused_with_row_and_column(line: str, column: str) -> None:
    with pytest.raises(TableError) as caught:
        load_templates(f"{HEADING}\n{line}\n")
    assert (caught.value.row, caught.value.column) == (2, column)


def test_scattered_rows_and_a_strange_heading_are_refused() -> None:
    row = "{},X,1,1,d,visit_end,lab,look,must,,cp\n"
    with pytest.raises(TableError, match="together"):
        load_templates(HEADING + "\n" + row.format("fu_x") + row.format("fu_y") + row.format("fu_x"))
    with pytest.raises(TableError, match="columns must be"):
        load_templates("a,b\n1,2\n")
