"""What is still wanted of a record."""

from dataclasses import replace
from datetime import date

from cases.medicines.completeness import Written, missing_from

WHOLE = Written(
    "B1",
    "UK1",
    withdrawal_known=True,
    off_label=True,
    owner="A farm",
    examined_on=date(2026, 3, 14),
    diagnosis="metritis",
)


def fields(record: Written) -> list[str]:
    return [one.field for one in missing_from(record)]


def test_a_whole_record_lacks_nothing() -> None:
    assert fields(WHOLE) == []


def test_each_thing_the_law_wants_is_named() -> None:
    bare = replace(WHOLE, batch="", withdrawal_known=False, examined_on=None, diagnosis="")
    assert fields(bare) == ["batch", "withdrawal", "examined_on", "diagnosis"]
    assert all("not " in one.sentence for one in missing_from(bare))


def test_on_the_label_no_diagnosis_is_wanted() -> None:
    assert fields(replace(WHOLE, off_label=False, examined_on=None, diagnosis="", owner="")) == []
