"""What warns of a treatment is kept with it; a stop wants a vet's reason and never blocks for good."""

from datetime import timedelta
from decimal import Decimal

import pytest

from cases.errors import NeedsReason
from cases.models import Animal, Batch, GroupStay, Treatment
from cases.services.completeness import missing_of
from cases.services.treatments import look_at_treatment
from rotas.errors import BadInput
from rotas.models import AuditLine
from tests import factories
from tests.cases.services.shed import Shed
from tests.factories import NOW

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


@pytest.fixture
def shed():
    return Shed()


@pytest.fixture
def lidocaine(shed):
    return factories.a_medicine(
        shed.practice, substance="lidocaine", strength="2 %", form="injection", route="infiltration"
    )


def block(shed, lidocaine, ml, **values):
    facts = {
        "medicine_id": lidocaine.pk,
        "route": "infiltration",
        "dose_amount": Decimal(ml),
        "weight_kg": Decimal(600),
        "weight_known_by": "band",
    }
    return shed.give(**(facts | values))


def codes(treatment):
    return {warning["code"] for warning in treatment.warnings}


def test_240_ml_for_600_kg_is_written_down_and_241_with_a_warning(shed, lidocaine):
    assert "ceiling_warn" not in codes(block(shed, lidocaine, 240))
    other = factories.an_animal(shed.farm)
    assert "ceiling_warn" in codes(block(shed, lidocaine, 241, animal_id=other.pk))


def test_above_the_highest_figure_a_reason_is_wanted_and_kept(shed, lidocaine):
    with pytest.raises(NeedsReason, match="above the highest figure") as refused:
        block(shed, lidocaine, 301)
    assert refused.value.facts["warnings"][0]["code"] == "ceiling_stop"
    assert not Treatment.objects.exists()
    given = block(shed, lidocaine, 301, override_reason="second flank, over four hours")
    assert given.override_reason == "second flank, over four hours"
    assert given.warnings[0]["level"] == "stop"
    assert not given.off_label
    line = AuditLine.objects.get(verb="treatment_recorded")
    assert line.reason == "second flank, over four hours"


def test_the_second_syringe_of_the_night_is_added_to_the_first(shed, lidocaine):
    block(shed, lidocaine, 200, first_given_at=NOW - timedelta(hours=2))
    assert "ceiling_warn" in codes(block(shed, lidocaine, 41))


def test_a_corrected_syringe_no_longer_counts(shed, lidocaine):
    first = block(shed, lidocaine, 200)
    right = block(shed, lidocaine, 20, corrects_id=first.pk)
    assert codes(right) == codes(first)
    assert "ceiling_warn" not in codes(block(shed, lidocaine, 220))


def test_another_cows_syringe_does_not_count(shed, lidocaine):
    block(shed, lidocaine, 200)
    other = factories.an_animal(shed.farm)
    assert "ceiling_warn" not in codes(block(shed, lidocaine, 200, animal_id=other.pk))


@pytest.mark.parametrize(("left_at", "counts"), [(None, True), (NOW - timedelta(hours=1), False)])
def test_what_her_pen_was_given_while_she_stood_in_it_counts(shed, lidocaine, left_at, *, counts):
    pen = factories.a_group(shed.farm, species="cattle")
    GroupStay.objects.create(
        practice=shed.practice,
        group=pen,
        animal=shed.cow,
        from_at=NOW - DAY,
        until_at=left_at,
        recorded_at=NOW,
        recorded_by=shed.vet.member,
    )
    block(shed, lidocaine, 200, group_id=pen.pk, first_given_at=NOW - timedelta(minutes=30))
    assert ("ceiling_warn" in codes(block(shed, lidocaine, 41))) is counts


def test_looking_shows_the_same_and_writes_nothing_not_even_the_animal(shed, lidocaine):
    before = Animal.objects.count()
    shown = look_at_treatment(
        visit_id=shed.visit.pk,
        actor=shed.vet.member,
        now=NOW,
        medicine_id=lidocaine.pk,
        route="infiltration",
        dose_amount=Decimal(301),
        dose_unit="ml",
        first_given_at=NOW,
        tag="UK 100001 000999",
        species="cattle",
        weight_kg=Decimal(600),
    )
    assert [caution.code for caution in shown.stops] == ["ceiling_stop"]
    assert shown.reckoning.tally.mg == 6020
    assert (Animal.objects.count(), Treatment.objects.count()) == (before, 0)


def test_old_calls_without_a_weight_are_taken_and_told_what_was_not_checked(shed, lidocaine):
    given = block(shed, lidocaine, 100, weight_kg=None, weight_known_by="")
    assert "ceiling_not_checked" in codes(given)


def test_danger_a_dose_above_the_label_is_never_counted_by_the_label(shed):
    shed.medicine.periods.update(max_dose=10, max_dose_unit="ml")
    with pytest.raises(NeedsReason, match="outside the label"):
        shed.give()
    given = shed.give(override_reason="she weighs 900 kg")
    assert (given.off_label, given.off_label_reason) == (True, "she weighs 900 kg")
    assert set(given.withdrawals.values_list("ends_at", flat=True)) == {None}


def test_outside_the_label_said_beforehand_needs_no_second_reason(shed):
    shed.medicine.periods.update(max_dose=10, max_dose_unit="ml")
    given = shed.give(off_label=True, off_label_reason="she weighs 900 kg")
    assert "above_label_dose" in codes(given)


@pytest.mark.parametrize(("days", "expired"), [(0, False), (-1, True)])
def test_an_expired_batch_wants_a_reason_and_its_last_day_does_not(shed, days, *, expired):
    batch = Batch.objects.create(
        practice=shed.practice, medicine=shed.medicine, number="L1", expires_on=NOW.date() + days * DAY
    )
    if not expired:
        assert shed.give(batch_id=batch.pk).batch == "L1"
        return
    with pytest.raises(NeedsReason, match="expired"):
        shed.give(batch_id=batch.pk)
    given = shed.give(batch_id=batch.pk, override_reason="the only bottle within an hour")
    assert (given.batch_ref, "batch_expired" in codes(given)) == (batch, True)


def test_a_typed_number_of_a_known_batch_is_that_batch(shed):
    batch = Batch.objects.create(
        practice=shed.practice, medicine=shed.medicine, number="L1", expires_on=NOW.date() - DAY
    )
    with pytest.raises(NeedsReason, match="expired"):
        shed.give(batch=" l1 ")
    assert shed.give(batch="l1", override_reason="nothing else").batch_ref == batch
    assert shed.give(batch="unheard of").batch_ref is None


def test_another_medicines_batch_cannot_be_chosen(shed, lidocaine):
    batch = Batch.objects.create(
        practice=shed.practice, medicine=lidocaine, number="L1", expires_on=NOW.date() + DAY
    )
    with pytest.raises(BadInput, match="batch_id"):
        shed.give(batch_id=batch.pk)


def test_two_strengths_of_one_substance_are_named(shed):
    weak = factories.a_medicine(shed.practice, substance="xylazine", strength="20 mg/ml", form="injection")
    factories.a_medicine(shed.practice, substance="Xylazine", strength="100 mg/ml", form="injection")
    given = shed.give(medicine_id=weak.pk)
    sentence = next(warning["sentence"] for warning in given.warnings if warning["code"] == "two_strengths")
    assert "20 mg/ml and 100 mg/ml" in sentence


def test_the_route_is_kept_in_the_labels_own_spelling(shed):
    shed.medicine.periods.update(route="IM")
    given = shed.give(route="intramuscular")
    assert given.route == "IM"
    assert given.withdrawals.get(commodity="milk").period_hours == 72


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"weight_kg": Decimal(0)}, "weight_kg"),
        ({"weight_kg": Decimal("3000.01")}, "weight_kg"),
        ({"weight_kg": Decimal("NaN")}, "weight_kg"),
        ({"weight_known_by": "band"}, "weight_kg"),
        ({"weight_kg": Decimal(5), "weight_known_by": "eye"}, "weight_known_by"),
        ({"animal_class": "cow"}, "animal_class"),
        ({"examined_on": NOW.date() + DAY}, "examined_on"),
        ({"water_c": Decimal(0)}, "water_c"),
    ],
)
def test_what_cannot_be_meant_is_refused_by_its_field(shed, wrong, field):
    with pytest.raises(BadInput) as refused:
        shed.give(**wrong)
    assert refused.value.facts["field"] == field
    assert not Treatment.objects.exists()


def test_what_the_law_wants_is_asked_for_and_added_by_a_correction(shed):
    first = shed.give(off_label=True, off_label_reason="nothing licensed")
    assert [one.field for one in missing_of(first)] == ["batch", "withdrawal", "examined_on", "diagnosis"]
    second = shed.give(
        off_label=True,
        off_label_reason="nothing licensed",
        corrects_id=first.pk,
        batch="L1",
        examined_on=NOW.date(),
        diagnosis="metritis",
    )
    assert [one.field for one in missing_of(second)] == ["withdrawal"]
    first.refresh_from_db()
    assert (first.batch, first.diagnosis) == ("", "")
