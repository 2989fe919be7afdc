"""Amounts and strengths, there and back."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cases.medicines.units import Amount, Unit, amount_of, figure, mg_per_ml_of, ml_of, unit_of

amounts = st.decimals(min_value="0.001", max_value=999_999, places=3)
strengths = st.decimals(min_value="0.1", max_value=1000, places=1)


@given(volume=amounts, strength=strengths)
def test_ml_to_mg_and_back_is_the_same_volume(volume: Decimal, strength: Decimal) -> None:
    mg = Amount(volume, Unit.ML).in_mg(strength)
    assert mg is not None
    assert ml_of(mg, strength) == volume


@given(grams=amounts)
def test_a_gram_is_a_thousand_mg(grams: Decimal) -> None:
    assert Amount(grams, Unit.G).in_mg(None) == Amount(grams * 1000, Unit.MG).in_mg(None)


@pytest.mark.parametrize(
    ("strength", "mg"),
    [
        ("2 %", "20"),
        ("2%", "20"),
        ("20 mg/mL", "20"),
        ("12.5 %", "125"),
        ("0.5 % w/v", "5"),
        ("6.25 mg/ml", "6.25"),
    ],
)
def test_a_strength_is_read_as_it_stands_on_the_bottle(strength: str, mg: str) -> None:
    assert mg_per_ml_of(strength) == Decimal(mg)


@pytest.mark.parametrize("strength", ["", "10 IU/mL", "50 + 0.02 mg/mL", "300,000 units/mL", "about 2 %"])
def test_a_strength_that_is_not_plain_is_not_guessed(strength: str) -> None:
    assert mg_per_ml_of(strength) is None


@pytest.mark.parametrize("word", ["ml", "ML", "mls", "cc", "millilitres"])
def test_a_unit_has_many_spellings(word: str) -> None:
    assert unit_of(word) is Unit.ML


def test_a_tube_has_no_mass_and_iu_are_no_mg() -> None:
    assert amount_of(Decimal(1), "tube") is None
    assert Amount(Decimal(100), Unit.IU).in_mg(Decimal(20)) is None
    assert Amount(Decimal(100), Unit.ML).in_mg(None) is None


def test_figures_are_written_as_a_person_writes_them() -> None:
    assert [figure(Decimal(value)) for value in ("4800", "3.3333", "0.1", "8.00")] == [
        "4,800",
        "3.33",
        "0.1",
        "8",
    ]
