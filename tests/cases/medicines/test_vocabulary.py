"""The core and the tables of the database use the same words."""

from cases.medicines.tables import ceilings, kind_in_force, kind_of, route_word, standing
from cases.medicines.vocabulary import COMMODITIES, JURISDICTIONS, KINDS, MARKS, PERIOD_UNITS
from cases.models import Commodity, Mark, MedicineKind, PeriodUnit
from rotas.models import Jurisdiction


def test_every_closed_list_is_the_same_in_both() -> None:
    assert list(KINDS) == MedicineKind.values
    assert dict(MARKS) == dict(Mark.choices)
    assert list(PERIOD_UNITS) == PeriodUnit.values
    assert list(COMMODITIES) == Commodity.values
    assert list(JURISDICTIONS) == Jurisdiction.values


def test_every_row_of_the_tables_has_a_class_that_exists_and_a_source_or_a_mark() -> None:
    assert {row.kind for row in (*standing(), *ceilings())} <= set(KINDS)
    assert [row.code for row in standing() if not (row.source or row.mark)] == []
    assert len({row.code for row in standing()}) == len(standing())


def test_penicillin_with_procaine_is_no_local_anaesthetic() -> None:
    assert kind_of("procaine benzylpenicillin") == kind_of("penicillin g procaine") == "antibiotic"
    assert kind_of("procaine + epinephrine") == "anaesthetic_local"


def test_what_a_substance_is_known_as_outranks_what_was_recorded() -> None:
    assert kind_in_force("hormone", "Lidocaine hydrochloride") == "anaesthetic_local"
    assert kind_in_force("hormone", "something new") == "hormone"


def test_one_way_in_has_one_word() -> None:
    assert {route_word(route) for route in ("IV", "i.v.", "intravenous", " Into the  vein ")} == {"iv"}
    assert route_word("Ear base") == "ear base"
