"""The trade's worked examples (constructed, [cp]): what triage can compute of each row.

Not computed here: who goes, from where and with whom on notice is the planner's and the desk's work; the
advice and the reasons are prose.

Where a row differs from the complaint table, the difference is named beside it.
"""

from datetime import datetime, timedelta
from typing import NamedTuple

import pytest

from cases.triage import ArrivalTargets, CallReport, Urgency, VetWord, assess
from tests.cases.triage.calls import LONDON, minutes, table_rows

ROWS = table_rows("worked_triage.csv")


class Known(NamedTuple):
    """What a row tells in prose, beside its answers."""

    word: VetWord | None = None
    anchored: bool = False


def local(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=LONDON)


BESIDE = {
    # the vet chose the hour by name; the class alone would give 10:00, tested below
    "W10": Known(word=VetWord("V1", lower_to=Urgency.SAME_DAY, arrive_by=local("2026-08-02 08:00"))),
    "W13": Known(anchored=True),
}
# The row gives the vet longer to telephone than the complaint table does (10 and 240 min); the table stands.
PHONE_MIN_OF_THE_TABLE = {"W13": 60, "W16": 5}
# Kit that the table asks for and the row leaves at home.
KIT_LEFT_OUT = {
    "W01": {"epidural_kit"},
    "W10": {"sampling_kit"},
    "W14": {"ppe_biosecurity"},
    "W17": {"epidural_kit"},
}
# W01: the desk puts a trained second on notice beyond the table; W08: brought in, none needed on the farm.
SECOND_OF_THE_TABLE = {"W01": "farm_helper", "W08": "farm_helper"}
IN_EVERY_CAR = {"base_car", "none"}


def answers_of(row: dict[str, str]) -> dict[str, object]:
    return dict(part.split("=", 1) for part in row["answers"].split(";"))


def assessed(row: dict[str, str], word: VetWord | None = None):
    called_at = local(row["call_local"])
    onset_min = row["onset_min_before_call"]
    known = BESIDE.get(row["id"], Known())
    call = CallReport(
        row["code"],
        called_at,
        answers_of(row),
        onset_at=called_at - timedelta(minutes=int(onset_min)) if onset_min else None,
        species=row["species"],
        anchor_at=called_at if known.anchored else None,
    )
    return assess(call, ArrivalTargets(), tz=LONDON, lowered_by=word or known.word)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["id"])
def test_class_and_times_of_the_worked_row(row: dict[str, str]) -> None:
    assessment = assessed(row)
    called_at = local(row["call_local"])
    assert assessment.base_urgency.value == row["base_class"]
    assert assessment.urgency.value == row["final_class"]
    assert assessment.biology_passed is (row["biology_passed"] == "yes")
    if row["arrive_by_local"]:
        assert assessment.arrive_by == local(row["arrive_by_local"])
        assert minutes(assessment.arrive_by, called_at) == int(row["arrive_within_min"])
    phone_min = PHONE_MIN_OF_THE_TABLE.get(row["id"])
    expected = called_at + timedelta(minutes=phone_min) if phone_min else local(row["vet_phone_by_local"])
    assert assessment.vet_phone_by == expected <= local(row["vet_phone_by_local"])


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["id"])
def test_kit_and_second_person_of_the_worked_row(row: dict[str, str]) -> None:
    assessment = assessed(row)
    wanted = set(row["kit"].split(";")) - IN_EVERY_CAR
    left_out = KIT_LEFT_OUT.get(row["id"], set())
    assert set(assessment.kit) - IN_EVERY_CAR - {"gloves_long"} == wanted | left_out
    said = SECOND_OF_THE_TABLE.get(row["id"], row["second_person"])
    assert said.startswith(assessment.second_person)


def test_there_are_twelve_worked_rows() -> None:
    assert len(ROWS) == 12


def by_id(wanted: str) -> dict[str, str]:
    return next(row for row in ROWS if row["id"] == wanted)


def test_w10_without_an_hour_named_is_due_at_ten_and_without_a_name_stays_urgent() -> None:
    row = by_id("W10")
    lowered = assessed(row, VetWord("V1", lower_to=Urgency.SAME_DAY))
    assert lowered.arrive_by == local("2026-08-02 10:00")
    unnamed = assess(
        CallReport(row["code"], local(row["call_local"]), answers_of(row)), ArrivalTargets(), tz=LONDON
    )
    assert unnamed.urgency is Urgency.URGENT


def test_w13_the_reading_has_its_window_and_no_arrival_by_class() -> None:
    assessment = assessed(by_id("W13"))
    assert assessment.window == (local("2026-02-20 10:00"), local("2026-02-20 18:00"))
    assert assessment.booked


def test_w14_fire_and_rescue_come_first() -> None:
    assert [service.code for service in assessed(by_id("W14")).emergency_first] == ["fire_rescue"]


def test_w16_is_a_telephone_call_and_w06_wakes_nobody() -> None:
    assert not assessed(by_id("W16")).visit_wanted
    assert not assessed(by_id("W06")).visit_wanted


def test_w08_may_be_brought_in() -> None:
    assert assessed(by_id("W08")).bring_in == "yes"
