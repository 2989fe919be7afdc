"""Where a treatment leaves the label, each danger by its name."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest

from cases.medicines.given import LabelUse
from tests.cases.medicines.doses import AT, COW, TUBE, codes, the, use

ON_LABEL = replace(TUBE, labels=(use(),))


def test_no_label_at_all_sets_no_date_and_says_so() -> None:
    assert "Blank is never zero" in the(TUBE, "no_label").sentence


def test_a_route_that_is_not_on_the_label_is_outside_it() -> None:
    caution = the(replace(ON_LABEL, route="SC"), "not_on_label")
    assert caution.outside_label
    assert "cattle IM" in caution.sentence


@pytest.mark.parametrize("route", ["IM", "i.m.", "intramuscular", "Into the muscle"])
def test_one_route_has_many_spellings(route: str) -> None:
    assert "not_on_label" not in codes(replace(ON_LABEL, route=route))


def test_danger_a_blank_entry_read_as_zero_is_named_as_silent() -> None:
    assert "milk" in the(replace(TUBE, labels=(use(silent=True),)), "label_silent").sentence
    assert "label_silent" not in codes(ON_LABEL)


def test_danger_a_figure_from_memory_is_said_to_set_no_date() -> None:
    assert "sets no date" in the(replace(TUBE, labels=(use(unconfirmed=True),)), "label_unconfirmed").sentence


def test_danger_not_for_use_in_her_class_stops() -> None:
    labels = (use(animal_class="dry"), use(animal_class="lactating", not_for_use=True))
    assert the(replace(TUBE, labels=labels, animal_class="lactating"), "not_for_use").stops
    assert "not_for_use" not in codes(replace(TUBE, labels=labels, animal_class="dry"))


def test_not_for_use_in_any_class_stops_whatever_she_is() -> None:
    assert "not_for_use" in codes(replace(TUBE, labels=(use(not_for_use=True),), animal_class="heifer"))


def test_danger_the_wrong_class_is_outside_the_label() -> None:
    labels = (use(animal_class="dry"),)
    assert the(replace(TUBE, labels=labels, animal_class="lactating"), "class_not_on_label").outside_label
    assert "class_not_said" in codes(replace(TUBE, labels=labels))


@pytest.mark.parametrize(
    ("most", "unit", "given_ml", "above"),
    [
        ("2", "mg/kg", "24", False),
        ("2", "mg/kg", "24.001", True),
        ("20", "ml", "20", False),
        ("20", "ml", "20.001", True),
        ("0.04", "ml/kg", "24", False),
        ("0.04", "ml/kg", "24.001", True),
        ("1", "g", "20", False),
        ("1", "g", "20.001", True),
    ],
)
def test_the_labels_largest_dose_is_inclusive(most: str, unit: str, given_ml: str, *, above: bool) -> None:
    labels = (use(max_dose=Decimal(most), max_dose_unit=unit),)
    one = replace(TUBE, mg_per_ml=Decimal(50), amount=Decimal(given_ml), labels=labels)
    assert ("above_label_dose" in codes(one)) is above


def test_danger_above_the_label_stops_and_voids_its_period() -> None:
    labels = (use(max_dose=Decimal(1), max_dose_unit="ml"),)
    caution = the(replace(TUBE, labels=labels), "above_label_dose")
    assert caution.stops
    assert caution.outside_label
    assert not the(replace(TUBE, labels=labels, off_label=True), "above_label_dose").stops


def test_a_largest_dose_that_cannot_be_checked_says_why() -> None:
    labels = (use(max_dose=Decimal(2), max_dose_unit="mg/kg"),)
    one = replace(TUBE, labels=labels, weight_kg=None, mg_per_ml=Decimal(50))
    assert "weight is not known" in the(one, "label_dose_not_checked").sentence
    assert (
        "tube cannot be reckoned"
        in the(replace(one, weight_kg=Decimal(600), unit="tube"), "label_dose_not_checked").sentence
    )


def test_units_of_penicillin_are_compared_with_units() -> None:
    labels = (use(max_dose=Decimal(10_000), max_dose_unit="IU/kg"),)
    one = replace(TUBE, labels=labels, unit="IU", amount=Decimal(6_000_000))
    assert "above_label_dose" not in codes(one)
    assert "above_label_dose" in codes(replace(one, amount=Decimal(6_000_001)))


@pytest.mark.parametrize(("doses", "longer"), [(2, False), (3, True)])
def test_a_course_longer_than_the_label_allows_is_outside_it(doses: int, *, longer: bool) -> None:
    one = replace(TUBE, labels=(use(max_doses=2),), doses=doses, last_at=AT + timedelta(days=1))
    assert ("longer_course" in codes(one)) is longer
    assert "longer_course" not in codes(replace(one, labels=(use(max_doses=2), use())))


@pytest.mark.parametrize(("day", "expired"), [(14, False), (15, True)])
def test_a_batch_may_be_used_on_its_last_day_and_not_on_the_next(day: int, *, expired: bool) -> None:
    one = replace(ON_LABEL, batch="X1", batch_expires_on=date(2026, 3, 14), last_on=date(2026, 3, day))
    assert ("batch_expired" in codes(one)) is expired


def test_two_strengths_of_one_substance_are_both_named() -> None:
    one = replace(COW, substance="xylazine", strength="20 mg/ml", other_strengths=("100 mg/ml",))
    sentence = the(one, "two_strengths").sentence
    assert "20 mg/ml and 100 mg/ml" in sentence
    assert "read the bottle" in sentence


def test_sedating_a_dry_cow_wants_a_reason_and_any_other_is_asked_when_due() -> None:
    one = replace(COW, substance="xylazine", kind="sedative")
    assert the(replace(one, animal_class="dry"), "sedation_late_pregnancy").stops
    assert "sedation_when_due" in codes(one)
    assert "sedation_heat_heart_urine" in codes(one)


def test_a_local_anaesthetic_into_a_vein_stops() -> None:
    assert the(replace(COW, route="i.v."), "local_into_vein").stops
    assert "local_into_vein" not in codes(COW)


def test_entries_of_another_species_are_no_label_for_this_one() -> None:
    assert "not_on_label" in codes(replace(TUBE, labels=(LabelUse("sheep", "IM", "", "meat"),)))
