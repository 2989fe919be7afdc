"""The complaint table loads whole, and a row that cannot be read is refused with its place."""

import csv
import io
import subprocess
import sys

import pytest

from cases.triage import SKILLS, CatalogueError, Kind, UnknownComplaint, catalogue, questions_for
from cases.triage.catalogue import COLUMNS, VITAL_COLUMNS, load_catalogue
from cases.triage.floors import load_floors, own_floors
from cases.triage.skills import SkillNeed, parse_skills
from tests.cases.triage.calls import raw_effects, raw_questions, raw_rows


def table(**changes: str) -> str:
    """The first row of the table, changed."""
    row = {**raw_rows()[0], **changes}
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS)
    writer.writeheader()
    writer.writerow(row)
    return out.getvalue()


def test_all_91_complaints_load_with_the_figures_of_the_table() -> None:
    loaded = {complaint.code: complaint for complaint in catalogue()}
    assert len(loaded) == len(raw_rows()) == 91
    for row in raw_rows():
        complaint = loaded[row["code"]]
        assert str(complaint.target_arrival_min or "") == row["target_arrival_min"]
        assert str(complaint.vet_phone_within_min) == row["vet_phone_within_min"]
        assert str(complaint.worse_after_min or "") == row["worse_after_min"]
        assert str(complaint.minutes_on_farm_median) == row["minutes_on_farm_median"]
        assert str(complaint.minutes_on_farm_pessimistic) == row["minutes_on_farm_pessimistic"]
        assert complaint.base_class.value == row["base_class"]
        assert ";".join(complaint.source_keys) == row["source_keys"]
        assert ";".join(complaint.species) == row["species"]
        assert ";".join(complaint.extra_kit) == row["extra_kit"]
        assert ";".join(complaint.flags) == row["flags"]


def test_every_question_and_effect_of_the_table_is_read() -> None:
    asked = {(c.code, q.key): q for c in catalogue() for q in c.questions}
    assert set(asked) == {(row["code"], key) for row in raw_rows() for key, _, _ in raw_questions(row)}
    assert sum(len(question.effects) for question in asked.values()) == len(raw_effects()) > 200


def test_questions_carry_what_a_page_needs() -> None:
    questions = {question.key: question for question in questions_for("left_displaced_abomasum")}
    assert questions["ping_side"].choices == ("left", "right", "neither")
    assert questions["ping_side"].kind is Kind.CHOICE
    assert questions["days_calved"].unit == "days"
    assert questions["down"].kind is Kind.YES_NO
    assert all(question.label[0].isupper() for question in questions.values())


def test_a_complaint_that_does_not_exist_is_refused_by_name() -> None:
    with pytest.raises(UnknownComplaint) as caught:
        questions_for("dragon_bite")
    assert caught.value.field == "code"
    assert "dragon_bite" in caught.value.sentence


@pytest.mark.parametrize(
    ("column", "cell", "word"),
    [
        ("base_class", "soon", "soon"),
        ("skills", "calving;wizardry", "wizardry"),
        ("skills", "calving;;epidural", "''"),
        ("species", "dragon", "dragon"),
        ("species", "", "blank"),
        ("target_arrival_min", "an hour", "whole number"),
        ("target_arrival_min", "-5", "whole number"),
        ("target_arrival_min", "", "needs a target"),
        ("vet_phone_within_min", "", "whole number"),
        ("second_person", "a_friend", "a_friend"),
        ("bring_in", "perhaps", "perhaps"),
        ("flags", "kick_crush;bites", "bites"),
        ("scheduled", "maybe", "neither yes nor no"),
        ("hard_window", "some time", "not a window"),
        ("source_keys", "", "names no source"),
        ("source_keys", "S1;hearsay", "names no source"),
        ("minutes_on_farm_pessimistic", "10", "below the median"),
        ("phone_advice", "", "blank"),
        ("extra_kit", "Calving Jack", "not a code"),
        ("code", "Dystocia!", "not a code"),
        ("questions", "hours", "not 'key[type]"),
        ("questions", "hours[n_h] hours => soon", "condition:outcome"),
        ("questions", "hours[n_h] hours => >=4:soon", "not a class"),
        ("questions", "hours[n_h] hours => >=4:lower:soon", "not a class"),
        ("questions", "hours[n_h] hours => yes:urgent", "not a condition"),
        ("questions", "down[yn] down => >=4:urgent", "not a condition"),
        ("questions", "down[yn] down => perhaps:urgent", "not a condition"),
        ("questions", "down[yn] down => yes:flag:bites", "not a flag"),
        ("questions", "down[boolean] down => yes:urgent", "not a type"),
        ("questions", "down[yn] down => yes:urgent | down[yn] again => yes:urgent", "twice"),
        ("questions", "fits_now[yn] fits => yes:urgent", "already asked"),
    ],
)
def test_a_bad_cell_is_refused_with_row_and_column(column: str, cell: str, word: str) -> None:
    with pytest.raises(CatalogueError) as caught:
        load_catalogue(table(**{column: cell}))
    assert (caught.value.row, caught.value.column) == (2, column)
    assert word in caught.value.problem
    assert f"row 2, column {column}" in str(caught.value)


def test_a_code_twice_a_missing_column_and_a_short_line_are_refused() -> None:
    once = table()
    with pytest.raises(CatalogueError, match="twice"):
        load_catalogue(once + once.split("\n", 1)[1])
    with pytest.raises(CatalogueError, match="columns must be"):
        load_catalogue(once.replace("trade_name", "name", 1))
    with pytest.raises(CatalogueError, match="exactly 22 cells"):
        load_catalogue(once.split("\n", 1)[0] + "\nonly,three,cells\n")


def test_vital_questions_and_floors_must_name_questions_that_are_asked() -> None:
    heading = ",".join(VITAL_COLUMNS)
    with pytest.raises(CatalogueError, match="asks no question"):
        load_catalogue(table(), f"{heading}\ndystocia_cattle,colour,birth,,,cp\n")
    with pytest.raises(CatalogueError, match="not question=answer"):
        load_catalogue(table(), f"{heading}\ndystocia_cattle,wrong_way,birth,colour=red,,cp\n")
    floors = "floor,code,question,condition,at_least,source_keys\n"
    with pytest.raises(CatalogueError, match="asks no question"):
        load_floors(floors + "birth,dystocia_cattle,colour,yes,immediate,cp\n", catalogue())
    with pytest.raises(CatalogueError, match="no complaint"):
        load_floors(floors + "birth,dragon,colour,yes,immediate,cp\n", catalogue())
    with pytest.raises(CatalogueError, match="not a condition"):
        load_floors(floors + "birth,dystocia_cattle,wrong_way,>=3,immediate,cp\n", catalogue())
    assert len(own_floors()) > 40


def test_skills_read_all_of_either_of_and_preferred() -> None:
    needs = parse_skills("first_opinion_farm;~sedation_rescue;euthanasia_firearm/euthanasia_injection")
    assert needs == (
        SkillNeed(("first_opinion_farm",)),
        SkillNeed(("sedation_rescue",), preferred=True),
        SkillNeed(("euthanasia_firearm", "euthanasia_injection")),
    )
    assert needs[2].met_by({"euthanasia_injection"})
    assert not needs[2].met_by({"first_opinion_farm"})
    assert str(needs[2]) == "euthanasia firearm or euthanasia injection"
    assert {skill for c in catalogue() for need in c.skills for skill in need.any_of} <= SKILLS


def test_the_package_is_pure() -> None:
    """In a fresh interpreter: no web, no database, no queue comes along."""
    script = (
        "import sys, cases.triage, cases.followups;"
        "print([name for name in ('django', 'celery', 'psycopg', 'redis') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
