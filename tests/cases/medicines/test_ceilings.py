"""Local anaesthetic for one kg, every syringe added up: the worked figures, and one unit beyond them."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
from hypothesis import given as drawn
from hypothesis import strategies as st

from cases.medicines.ceilings import reckoned
from cases.medicines.check import check
from cases.medicines.given import Given, Syringe
from cases.medicines.tables import ceilings
from cases.medicines.tally import tally
from tests.cases.medicines.doses import AT, COW, GOAT, codes, the

ml = st.decimals(min_value="0.1", max_value=500, places=1)
minutes = st.integers(min_value=-900, max_value=900)


@st.composite
def syringes(draw: st.DrawFn) -> Syringe:
    first = AT + timedelta(minutes=draw(minutes))
    doses = draw(st.integers(1, 4))
    last = first + timedelta(minutes=draw(st.integers(1, 600))) if doses > 1 else first
    return Syringe(first, last, doses, draw(st.one_of(st.none(), ml)))


def test_a_cow_of_600_kg_may_have_240_ml_of_two_per_cent() -> None:
    found = reckoned(replace(COW, amount=Decimal(240)))
    assert found is not None
    assert (found.tally.mg, found.mg_per_kg, found.left_mg) == (4800, 8, 0)
    assert "4,800 mg" in found.sentence
    assert "240 ml of this bottle" in found.sentence


def test_a_goat_of_40_kg_may_have_8_ml_of_two_per_cent() -> None:
    found = reckoned(GOAT)
    assert found is not None
    assert (found.tally.mg, found.mg_per_kg, found.left_mg) == (160, 4, 0)


@pytest.mark.parametrize(
    ("species", "kg", "warn_ml", "stop_ml"),
    [
        ("cattle", 600, 240, 300),
        ("sheep", 80, 16, 20),
        ("goat", 40, 8, 10),
        ("camelid", 150, 30, "37.5"),
        ("pig", 200, 80, 80),
        ("horse", 500, 200, 200),
    ],
)
def test_each_ceiling_is_inclusive_and_the_next_tenth_of_a_ml_is_not(
    species: str, kg: int, warn_ml: int, stop_ml: int | str
) -> None:
    one = replace(COW, species=species, weight_kg=Decimal(kg))
    warn, stop = Decimal(warn_ml), Decimal(stop_ml)
    tenth = Decimal("0.1")
    assert not codes(replace(one, amount=warn)) & {"ceiling_warn", "ceiling_stop"}
    assert "ceiling_stop" in codes(replace(one, amount=stop + tenth))
    if warn != stop:
        assert "ceiling_warn" in codes(replace(one, amount=warn + tenth))
        assert "ceiling_stop" not in codes(replace(one, amount=stop))
        assert "ceiling_warn" in codes(replace(one, amount=stop))


def test_the_table_holds_every_species_with_its_source_and_mark() -> None:
    assert {row.species for row in ceilings()} == {"cattle", "sheep", "goat", "camelid", "pig", "horse"}
    assert all("[S43]" in row.source and row.mark for row in ceilings())
    assert all(row.warn_mg_per_kg <= row.stop_mg_per_kg for row in ceilings())


def test_a_ceiling_names_its_source_and_that_the_vet_decides() -> None:
    caution = the(replace(COW, amount=Decimal(301)), "ceiling_stop")
    assert caution.stops
    assert "[S65]" in caution.source
    assert caution.as_row()["decides"] == "The attending vet decides."


def test_the_second_syringe_counts_with_the_first() -> None:
    first = Syringe(AT - timedelta(hours=1), AT - timedelta(hours=1), 1, Decimal(4000))
    assert "ceiling_warn" not in codes(COW)
    assert "ceiling_warn" in codes(replace(COW, earlier=(first,)))


@pytest.mark.parametrize(("ago_min", "counts"), [(360, True), (361, False)])
def test_a_syringe_six_hours_ago_counts_and_a_minute_more_does_not(ago_min: int, *, counts: bool) -> None:
    before = AT - timedelta(minutes=ago_min)
    earlier = (Syringe(before, before, 1, Decimal(4000)),)
    assert ("ceiling_warn" in codes(replace(COW, earlier=earlier))) is counts


def test_a_syringe_written_down_late_counts_with_the_one_after_it() -> None:
    after = AT + timedelta(hours=2)
    assert "ceiling_warn" in codes(replace(COW, earlier=(Syringe(after, after, 1, Decimal(4000)),)))


def test_an_unknown_weight_says_that_the_ceiling_was_not_checked() -> None:
    blank = replace(COW, weight_kg=None, weight_known_by="")
    assert "weight is not known" in the(blank, "ceiling_not_checked").sentence


def test_a_guessed_weight_is_named_as_one() -> None:
    assert "a guess" in the(replace(COW, weight_known_by="guess"), "ceiling_weight_guessed").sentence
    assert "ceiling_weight_guessed" not in codes(COW)


def test_a_dose_in_tubes_cannot_be_reckoned_and_says_so() -> None:
    assert "mg in this dose" in the(replace(COW, unit="tube"), "ceiling_not_checked").sentence


def test_an_earlier_syringe_in_tubes_is_left_to_be_counted_by_hand() -> None:
    assert "tally_incomplete" in codes(replace(COW, earlier=(Syringe(AT, AT, 1, None),)))


def test_a_substance_without_a_figure_is_never_passed_in_silence() -> None:
    assert "ceiling_unknown" in codes(replace(COW, substance="bupivacaine"))


def test_lidocaine_recorded_under_another_class_is_still_checked() -> None:
    assert "ceiling_stop" in codes(replace(COW, kind="other", amount=Decimal(400)))
    assert "ceiling_stop" in codes(replace(COW, kind="antibiotic", amount=Decimal(400)))


@drawn(this=syringes(), earlier=st.lists(syringes(), max_size=5), more=syringes())
def test_one_more_syringe_never_lowers_the_tally(
    this: Syringe, earlier: list[Syringe], more: Syringe
) -> None:
    window = timedelta(hours=6)
    assert tally(this, [*earlier, more], window).mg >= tally(this, earlier, window).mg


@drawn(amount=ml, more=ml, kg=st.integers(1, 1200))
def test_a_larger_dose_never_shows_less(amount: Decimal, more: Decimal, kg: int) -> None:
    def worst(given: Given) -> int:
        found = codes(given)
        return 2 if "ceiling_stop" in found else int("ceiling_warn" in found)

    one = replace(COW, amount=amount, weight_kg=Decimal(kg))
    assert worst(replace(one, amount=amount + more)) >= worst(one)


def test_the_stops_come_first() -> None:
    levels = [caution.stops for caution in check(replace(COW, amount=Decimal(400), route="IV"))]
    assert levels.count(True) == 2
    assert levels == sorted(levels, reverse=True)
