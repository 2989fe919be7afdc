"""What leaves in the ICAR Animal Data Exchange standard, against the standard's own schemas.

Source: ICAR Animal Data Exchange working group, JSON schemas, commit b788ef53 (Apache-2.0).
"""

import json
import os
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import referencing
from hypothesis import given
from hypothesis import strategies as st

from cases.exchange import collection, events
from cases.exchange.identifiers import Source
from cases.exchange.resources import AnimalFacts
from cases.records.line import Ending, MedicineLine, Standing
from tests.cases.records.invented import GIVEN, PEN, a_line, running

FOLDER = Path(os.environ.get("ICAR_ADE_SCHEMAS", "../shared/standards/icar_ade"))
needs_schemas = pytest.mark.skipif(not FOLDER.is_dir(), reason=f"the standard's schemas are not in {FOLDER}")

COURSE = timedelta(days=2)
SOURCE = Source("hollow-lane", 12, "Far Acre", "", "Europe/London")
COWS = [
    AnimalFacts("UK 100001 000412", "412", "cattle", True, "Alive"),
    AnimalFacts("UK 100001 000413", "", "sheep", False, "OffFarm"),
    AnimalFacts("A 1", "1", "alpaca", False, "Alive"),
]


def validator(kind: str) -> jsonschema.protocols.Validator:
    """Return what checks one resource by the standard, dates' form included; its references are files."""

    def read(address: str) -> referencing.Resource[Any]:
        name = Path(address)
        found = json.loads((FOLDER / name.parent.name / name.name).read_text())
        return referencing.Resource.from_contents(found, referencing.jsonschema.DRAFT7)

    schema = {"$id": f"https://ade.invalid/resources/{kind}.json"} | json.loads(
        (FOLDER / "resources" / f"{kind}.json").read_text()
    )
    registry: referencing.Registry[Any] = referencing.Registry(retrieve=read)
    return jsonschema.Draft7Validator(
        schema, registry=registry, format_checker=jsonschema.Draft7Validator.FORMAT_CHECKER
    )


def lines() -> tuple[MedicineLine, ...]:
    """Return a line of every sort."""
    needs_vet = (Ending("milk", Standing.NEEDS_VET), running("meat", 28))
    return (
        a_line(1, corrected_by=2, corrected_at=GIVEN + timedelta(days=1)),
        a_line(2, corrects=1, diagnosis="left displaced abomasum", expires_on=date(2027, 5, 31)),
        a_line(
            3, doses=3, last_given_at=GIVEN + timedelta(days=2), endings=needs_vet, off_label_reason="dose"
        ),
        a_line(4, subject=PEN, unit="IU", endings=(running("meat", 7),), given_by="the farmer", batch=""),
        a_line(5, subject=replace(PEN, head=40), endings=(Ending("eggs", Standing.NOT_FOR_USE),)),
    )


@needs_schemas
def test_every_resource_is_valid_by_its_own_schema() -> None:
    rows = collection.whole(lines(), COWS, SOURCE, GIVEN + timedelta(days=1))
    kinds = {row["resourceType"] for row in rows}
    assert len(kinds) == 8
    for row in rows:
        validator(row["resourceType"]).validate(row)


@needs_schemas
def test_the_check_itself_refuses_what_the_standard_refuses() -> None:
    row = events.treatment(a_line(), SOURCE)
    spoiled = [
        {name: value for name, value in row.items() if name != "animal"},
        row | {"withdrawals": [{"productType": "Cheese"}]},
        row | {"dose": {"doseQuantity": 1, "doseUnits": "bottle"}},
    ]
    for each in spoiled:
        assert not validator("icarTreatmentEventResource").is_valid(each)


def test_danger_no_end_is_earlier_than_the_produce_may_be_sold() -> None:
    """A reader who sells on the end date must not sell before the first milking that is clear."""
    (milk, meat) = events.treatment(a_line(), SOURCE)["withdrawals"]
    assert milk == {"productType": "Milk", "endDate": "2026-02-06T05:30:00Z"}
    assert meat == {"productType": "Meat", "endDate": "2026-02-12T16:45:00Z"}


def test_danger_an_unknown_end_is_left_out_and_said_in_words() -> None:
    for standing, words in ((Standing.NEEDS_VET, events.NO_DATE), (Standing.NOT_FOR_USE, events.FORBIDDEN)):
        row = events.treatment(a_line(endings=(Ending("milk", standing),)), SOURCE)
        assert row["withdrawals"] == [{"productType": "Milk"}]
        assert f"Milk: {words}" in row["comment"]


def test_danger_a_forbidden_use_has_no_end_even_where_a_row_holds_one() -> None:
    ending = replace(running("milk", 1), standing=Standing.NOT_FOR_USE)
    assert "endDate" not in events.withdrawal(ending)


def test_a_corrected_record_comes_marked_as_deleted_when_it_was_corrected() -> None:
    wrong, right, *_ = collection.treatments(lines(), SOURCE)
    assert wrong["meta"]["isDeleted"] is True
    assert wrong["meta"]["modified"] == "2026-02-03T16:45:00Z"
    assert right["meta"]["isDeleted"] is False


def test_a_unit_that_the_list_lacks_is_said_in_words_and_never_as_another() -> None:
    row = events.treatment(a_line(amount=Decimal(4000), unit="IU"), SOURCE)
    assert "dose" not in row
    assert "4000 IU" in row["comment"]


def test_a_course_is_a_plan_until_its_last_dose_is_due() -> None:
    course = a_line(doses=3, last_given_at=GIVEN + timedelta(days=2))
    for moment, word in ((timedelta(seconds=-1), "Plan"), (timedelta(0), "Actual")):
        row = events.program(course, SOURCE, course.last_given_at + moment)
        assert row["courses"][0]["planOrActual"] == word


def test_a_pen_is_listed_by_tag_only_where_every_tag_is_known() -> None:
    known = events.group_treatment(a_line(subject=PEN), SOURCE)
    assert [each["id"] for each in known["embeddedAnimalSet"]["member"]] == list(PEN.members)
    short = events.group_treatment(a_line(subject=replace(PEN, head=3)), SOURCE)
    assert short["groupMethod"] == "ExistingAnimalSet"


def test_an_animal_of_a_species_without_a_word_is_left_out() -> None:
    assert [row["specie"] for row in collection.animals(COWS, SOURCE)] == ["Cattle", "Sheep"]


@given(st.datetimes(timezones=st.just(UTC)))
def test_moments_are_utc_and_read_back(moment: datetime) -> None:
    text = events.utc(moment)
    assert text.endswith("Z")
    assert datetime.fromisoformat(text) == moment.replace(microsecond=0)
