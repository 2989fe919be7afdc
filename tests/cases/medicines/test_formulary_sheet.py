"""A formulary file: read strictly, taken whole or not at all, and twice is once."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from cases.medicines.entry import Entry, Product, Says, Use
from cases.medicines.merging import Change, Held, Known, plan_import
from cases.medicines.reading import COLUMNS, Sheet, read_sheet
from cases.medicines.starter import starter_rows
from cases.medicines.vocabulary import MARKS
from cases.medicines.writing import write_sheet

PEN = Entry(
    Product("penicillin", "300 mg/ml", "injection"),
    "antibiotic",
    Decimal(300),
    Use("cattle", "IM", "", "milk", None, ""),
    Says(Decimal(60), source="the leaflet"),
)
DAY = date(2026, 3, 14)


def row(**cells: str) -> str:
    good = dict(zip(COLUMNS, write_sheet([PEN]).splitlines()[1].split(","), strict=True))
    return ",".join({**good, **cells}[column] for column in COLUMNS)


def sheet(*rows: str) -> Sheet:
    return read_sheet("\r\n".join([",".join(COLUMNS), *rows]))


def apply(known: list[Known], change: Change) -> list[Known]:
    """The formulary after the change, as the database would hold it."""
    ended = {each.pk: each for each in change.ended}
    numbered = [Known(1000 + at, each.entry) for at, each in enumerate(change.begun)]
    return [
        Known(each.pk, ended[each.pk].entry if each.pk in ended else each.entry) for each in known
    ] + numbered


def test_what_was_written_is_read_back() -> None:
    assert [entry for _, entry in read_sheet(write_sheet([PEN])).entries] == [PEN]


def test_danger_an_empty_value_is_unknown_and_a_zero_is_a_zero() -> None:
    silent, zero = sheet(row(value=""), row(value="0")).entries
    assert silent[1].says is not None
    assert silent[1].says.value is None
    assert zero[1].says is not None
    assert zero[1].says.value == 0


@pytest.mark.parametrize(
    ("column", "cell", "says"),
    [
        ("substance", "", "active substance"),
        ("substance", "=1+1", "spreadsheet"),
        ("kind", "magic", "not one of"),
        ("species", "unicorn", "not one of"),
        ("species", "", "species, route and commodity"),
        ("route", "", "route"),
        ("animal_class", "cow", "not one of"),
        ("commodity", "cheese", "not one of"),
        ("value", "1,5", "cells"),
        ("value", "-1", "not a number"),
        ("value", "three", "not a number"),
        ("value", "1.234", "two decimals"),
        ("value", "90000", "ten years"),
        ("unit", "", "unit"),
        ("unit", "weeks", "not one of"),
        ("not_for_use", "", "yes or no"),
        ("not_for_use", "maybe", "neither yes nor no"),
        ("not_for_use", "yes", "leave it empty"),
        ("min_dry_days", "42", "counts from calving"),
        ("max_doses", "0", "1 to"),
        ("max_dose", "2", "unit"),
        ("max_dose_unit", "mg/kg", "unit"),
        ("mg_per_ml", "30", "Correct one"),
        ("valid_from", "14.3.2026", "2026-03-14"),
        ("valid_from", "2026-02-30", "not a day"),
        ("mark", "surely", "not one of"),
        ("jurisdiction", "XX", "not one of"),
    ],
)
def test_a_bad_cell_is_named_by_line_and_column_with_what_to_do(column: str, cell: str, says: str) -> None:
    problems = sheet(row(), row(**{column: cell})).problems
    assert problems
    assert {problem.line for problem in problems} == {3}
    assert any(says in problem.sentence for problem in problems)
    if "," not in cell:
        assert problems[0].column in (column, "max_dose_unit", "value")


def test_every_bad_row_is_reported_and_every_bad_cell_of_it() -> None:
    problems = sheet(row(value="x", unit="y"), row(), row(kind="z")).problems
    assert [(problem.line, problem.column) for problem in problems] == [
        (2, "value"),
        (2, "unit"),
        (4, "kind"),
    ]


@pytest.mark.parametrize(
    "text", ["", "a,b\n1,2", ",".join((*COLUMNS, "extra")), ",".join((*COLUMNS[1:], COLUMNS[1])), '"open']
)
def test_a_file_that_is_no_formulary_says_what_to_mend(text: str) -> None:
    found = read_sheet(text)
    assert not found.entries
    assert len(found.problems) == 1
    assert found.problems[0].sentence.endswith(".")


def test_a_spreadsheets_mark_and_another_order_of_columns_are_read() -> None:
    turned = "\ufeff" + "\n".join(
        ",".join(reversed(line.split(","))) for line in write_sheet([PEN]).splitlines()
    )
    assert [entry for _, entry in read_sheet(turned).entries] == [PEN]


def test_a_line_break_inside_quotes_does_not_shift_the_lines() -> None:
    found = sheet(row(note='"two\nlines"'), row(value="x"))
    assert [(problem.line, problem.column) for problem in found.problems][-1] == (4, "value")


# --- what it changes ---------------------------------------------------------------------------------


def known(*entries: Entry) -> list[Known]:
    return [Known(pk, entry) for pk, entry in enumerate(entries, start=1)]


def held(*entries: Entry) -> dict[Product, Held]:
    return {entry.product: Held(entry.kind, entry.mg_per_ml) for entry in entries}


def rows(*entries: Entry) -> Sheet:
    return Sheet(tuple(enumerate(entries, start=2)), ())


def test_a_changed_figure_ends_the_old_entry_on_the_day_the_new_one_begins() -> None:
    new = replace(PEN, says=replace(PEN.says, value=Decimal(72)), valid_from=DAY)
    change = plan_import(held(PEN), known(PEN), rows(new))
    assert [(each.pk, each.entry.valid_until) for each in change.ended] == [(1, DAY)]
    assert [each.entry for each in change.begun] == [new]
    assert not change.problems


def test_a_changed_figure_without_a_day_is_refused_and_rewrites_nothing() -> None:
    new = replace(PEN, says=replace(PEN.says, value=Decimal(6)))
    change = plan_import(held(PEN), known(PEN), rows(new))
    assert [problem.column for problem in change.problems] == ["valid_from"]
    assert not change.begun
    assert not change.ended


def test_two_rows_for_one_use_in_one_file_are_refused() -> None:
    twin = replace(PEN, says=replace(PEN.says, value=Decimal(72)))
    assert plan_import({}, [], rows(PEN, twin)).problems[0].line == 3


def test_an_ended_entry_is_not_changed_and_not_brought_back() -> None:
    ended = replace(PEN, valid_from=DAY, valid_until=DAY + timedelta(days=9))
    for other in (replace(ended, valid_until=None), replace(ended, valid_until=DAY + timedelta(days=3))):
        assert plan_import(held(PEN), known(ended), rows(other)).problems[0].column == "valid_until"


def test_another_strength_or_class_for_a_medicine_is_refused() -> None:
    assert plan_import(held(PEN), [], rows(replace(PEN, kind="hormone"))).problems[0].column == "kind"
    assert (
        plan_import(held(PEN), [], rows(replace(PEN, mg_per_ml=Decimal(5)))).problems[0].column == "mg_per_ml"
    )


def test_a_medicine_out_of_use_is_not_taken_back_by_a_file() -> None:
    there = {PEN.product: Held("antibiotic", Decimal(300), in_use=False)}
    assert "out of use" in plan_import(there, [], rows(PEN)).problems[0].sentence


words = st.text("abcdefg ", min_size=1, max_size=8).map(lambda text: f"x{' '.join(text.split())}")
numbers = st.one_of(st.none(), st.decimals(0, 900, places=1).map(lambda value: value.normalize()))
days = st.one_of(st.none(), st.dates(date(2024, 1, 1), date(2027, 1, 1)))


@st.composite
def entries(draw: st.DrawFn) -> Entry:
    milk, refused = draw(st.booleans()), draw(st.booleans())
    calving = milk and not refused and draw(st.booleans())
    value = None if refused else draw(numbers)
    dose = draw(st.one_of(st.none(), st.decimals("0.1", 500, places=1).map(lambda value: value.normalize())))
    use = Use(
        draw(st.sampled_from(["cattle", "sheep"])),
        draw(st.sampled_from(["IM", "SC"])),
        draw(st.sampled_from(["", "dry"])),
        "milk" if milk else "meat",
        draw(st.one_of(st.none(), st.integers(1, 3))),
        draw(st.sampled_from(["", "GB"])),
    )
    says = Says(
        value, draw(st.sampled_from(["hours", "days"])), refused, calving,
        draw(st.one_of(st.none(), st.integers(1, 60))) if calving else None,
        dose, "mg/kg" if dose is not None else "",
        draw(words), draw(st.sampled_from(list(MARKS))), draw(words),
    )  # fmt: skip
    begins, ends = draw(days), draw(days)
    if begins and ends and ends < begins:
        begins, ends = ends, begins
    return Entry(Product(draw(words)), "other", None, use, says, begins, ends)


@given(st.lists(entries(), max_size=12))
def test_writing_and_reading_gives_the_same_entries(drawn: list[Entry]) -> None:
    found = read_sheet(write_sheet(drawn))
    assert not found.problems
    assert [entry for _, entry in found.entries] == drawn


@given(st.lists(entries(), max_size=12))
def test_the_same_file_twice_changes_nothing_the_second_time(drawn: list[Entry]) -> None:
    first = plan_import({}, [], rows(*drawn))
    assume(not first.problems)
    after = apply([], first)
    again = plan_import(held(*drawn), after, rows(*[each.entry for each in after]))
    assert not again.problems
    assert again.changes_nothing
    assert again.unchanged == len(after)


@given(st.lists(entries(), max_size=12))
def test_of_each_use_one_entry_at_most_holds_on_any_day(drawn: list[Entry]) -> None:
    after = apply([], plan_import({}, [], rows(*drawn)))
    for day in (date(2023, 1, 1), date(2024, 6, 1), date(2025, 6, 1), date(2030, 1, 1)):
        uses = [
            (each.entry.product, each.entry.use)
            for each in after
            if (each.entry.valid_from or date.min) <= day < (each.entry.valid_until or date.max)
        ]
        assert len(uses) == len(set(uses))


# --- starter rows ------------------------------------------------------------------------------------


def test_starter_rows_of_the_us_come_in_clean_and_other_law_has_none() -> None:
    found = starter_rows("US")
    assert len(found) > 60
    assert plan_import({}, [], read_sheet(write_sheet(found))).problems == []
    assert starter_rows("GB") == starter_rows("EU") == ()


def test_starter_rows_keep_their_marks_and_take_no_advice_for_a_label() -> None:
    marks = {entry.says.mark for entry in starter_rows("US") if entry.says}
    assert "from memory, not verified" in marks
    assert "verified in stored public text" in marks
    assert not [entry for entry in starter_rows("US") if "FARAD" in (entry.says.source if entry.says else "")]


def test_danger_a_dry_cow_tube_of_zero_hours_counts_from_calving() -> None:
    found = [
        entry.says
        for entry in starter_rows("US")
        if entry.use and entry.use.animal_class == "dry" and entry.says and entry.says.value == 0
    ]
    assert found
    assert all(says.from_calving and says.min_dry_days == 30 for says in found)


def test_classes_that_a_label_shuts_out_are_entries_of_their_own() -> None:
    refused = {
        entry.use.animal_class
        for entry in starter_rows("US")
        if entry.use and entry.says and entry.says.not_for_use
    }
    assert refused == {"lactating", "dry", "heifer", "calf", "veal"}
