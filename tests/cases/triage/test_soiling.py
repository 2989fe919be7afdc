"""How dirty a complaint leaves a vet: a small table, checked against the catalogue."""

import pytest

from cases.triage import catalogue
from cases.triage.errors import CatalogueError
from cases.triage.soiling import load_soiling, soiling_of

HEADING = "code,soiling,source_keys\n"


@pytest.mark.parametrize(
    ("code", "level"),
    [
        ("dystocia_ewe", 0),
        ("calf_pneumonia_outbreak", 1),
        ("calf_scour", 2),
        ("abortion_ewe_outbreak", 2),
        ("orf", 2),
        ("suspected_notifiable", 3),
        ("a complaint of long ago", 0),
    ],
)
def test_what_a_complaint_leaves_on_boots_and_car(code: str, level: int) -> None:
    assert soiling_of(code) == level


@pytest.mark.parametrize(
    ("line", "column"),
    [("orff,2,cp", "code"), ("orf,4,cp", "soiling"), ("orf,0,cp", "soiling"), ("orf,2,cp\norf,1,cp", "code")],
)
def test_a_table_that_cannot_be_right_is_refused_with_its_place(line: str, column: str) -> None:
    with pytest.raises(CatalogueError, match=column):
        load_soiling(f"{HEADING}{line}\n", catalogue())
