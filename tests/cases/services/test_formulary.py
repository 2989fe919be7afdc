"""The formulary: entries begin and end and are never rewritten; a file is taken whole or not at all."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import IntegrityError, connection, transaction

from cases.errors import EntryInForce, SheetRefused
from cases.medicines.entry import Says, Use
from cases.models import Batch, LabelPeriod, Medicine
from cases.services import batches, formulary, formulary_sheet
from rotas.errors import AlreadyDone, BadInput, NotAllowed
from rotas.models import AuditLine
from tests import factories
from tests.cases.services.shed import Shed
from tests.factories import NOW

pytestmark = pytest.mark.django_db
TODAY = NOW.date()
MILK = Use("cattle", "intramuscular", "", "milk", None, "")


@pytest.fixture
def shed():
    return Shed()


@pytest.fixture
def manager(shed):
    return factories.a_manager(shed.practice)


def begin(shed, manager, value, valid_from=None, use=MILK, **says):
    return formulary.begin_entry(
        medicine_id=shed.medicine.pk,
        actor=manager,
        now=NOW,
        use=use,
        says=Says(None if value is None else Decimal(value), **says),
        valid_from=valid_from,
    )


def milk(treatment):
    return treatment.withdrawals.get(commodity="milk")


def test_a_new_figure_ends_the_old_one_and_leaves_it_as_it_was(shed, manager):
    old = shed.medicine.periods.get(commodity="milk")
    new = begin(shed, manager, 96, TODAY)
    old.refresh_from_db()
    assert (old.value, old.valid_until) == (72, TODAY)
    assert (new.value, new.valid_from, new.valid_until) == (96, TODAY, None)


def test_danger_an_ended_label_entry_sets_no_date_after_its_end(shed, manager):
    begin(shed, manager, 96, TODAY)
    assert milk(shed.give()).period_hours == 96
    before = NOW - timedelta(days=1)
    assert milk(shed.give(first_given_at=before)).period_hours == 72


def test_danger_an_entry_that_begins_tomorrow_sets_no_date_today(shed, manager):
    begin(shed, manager, 6, TODAY + timedelta(days=1))
    assert milk(shed.give()).period_hours == 72
    course = shed.give(doses=2, last_given_at=NOW + timedelta(days=1))
    assert milk(course).period_hours == 6


def test_a_new_figure_without_a_day_is_refused_while_one_is_in_force(shed, manager):
    with pytest.raises(EntryInForce):
        begin(shed, manager, 6)
    assert shed.medicine.periods.get(commodity="milk").value == 72


def test_an_entry_cannot_begin_inside_one_that_has_ended(shed, manager):
    row = begin(shed, manager, 96, TODAY)
    formulary.end_entry(
        entry_id=row.pk, actor=manager, now=NOW, on=TODAY + timedelta(days=30), reason="recalled"
    )
    with pytest.raises(BadInput, match="held until"):
        begin(shed, manager, 6, TODAY + timedelta(days=3))
    assert begin(shed, manager, 6, TODAY + timedelta(days=30)).value == 6


def test_ending_an_entry_leaves_nothing_in_force_and_the_vet_must_set_it(shed, manager):
    row = shed.medicine.periods.get(commodity="milk")
    formulary.end_entry(entry_id=row.pk, actor=manager, now=NOW, on=TODAY, reason="a new label is coming")
    assert milk(shed.give()).ends_at is None
    with pytest.raises(AlreadyDone):
        formulary.end_entry(entry_id=row.pk, actor=manager, now=NOW, on=TODAY, reason="again")


def test_ending_an_entry_names_the_dates_that_were_counted_by_it(shed, manager):
    given = shed.give()
    row = shed.medicine.periods.get(commodity="milk")
    assert [each.treatment for each in formulary.counted_by(row)] == [given]
    assert formulary.counted_by(begin(shed, manager, 96, TODAY + timedelta(days=1))) == []


@pytest.mark.parametrize("mark", ["from memory, not verified", "verified in secondary text only"])
def test_danger_a_figure_that_nobody_read_sets_no_date_before_a_vet_confirms(shed, mark):
    entry = shed.medicine.periods.get(commodity="milk")
    LabelPeriod.objects.filter(pk=entry.pk).update(mark=mark)
    first = shed.give()
    assert milk(first).ends_at is None
    assert "label_unconfirmed" in [warning["code"] for warning in first.warnings]
    formulary.confirm_entry(entry_id=entry.pk, actor=shed.vet.member, now=NOW)
    assert milk(shed.give()).period_hours == 72


def test_only_a_vet_confirms_and_only_what_wants_it(shed, manager):
    entry = shed.medicine.periods.get(commodity="milk")
    with pytest.raises(AlreadyDone):
        formulary.confirm_entry(entry_id=entry.pk, actor=shed.vet.member, now=NOW)
    LabelPeriod.objects.filter(pk=entry.pk).update(mark="from memory, not verified")
    with pytest.raises(NotAllowed):
        formulary.confirm_entry(entry_id=entry.pk, actor=manager, now=NOW)
    LabelPeriod.objects.filter(pk=entry.pk).update(value=None)
    with pytest.raises(BadInput, match="no figure"):
        formulary.confirm_entry(entry_id=entry.pk, actor=shed.vet.member, now=NOW)


def test_danger_a_label_for_dry_cows_sets_no_date_for_one_in_milk(shed, manager):
    dry = Use("cattle", "intramammary", "dry", "milk", None, "")
    begin(shed, manager, 0, use=dry)
    given = shed.give(route="intramammary", animal_class="lactating")
    assert milk(given).ends_at is None
    assert "class_not_on_label" in [warning["code"] for warning in given.warnings]


def test_danger_a_blank_entry_is_unknown_and_not_zero(shed, manager):
    begin(shed, manager, None, use=Use("cattle", "subcutaneous", "", "milk", None, ""))
    given = shed.give(route="subcutaneous")
    assert (milk(given).ends_at, milk(given).state) == (None, "needs_vet")
    assert "label_silent" in [warning["code"] for warning in given.warnings]


def test_only_a_manager_writes_the_formulary(shed):
    with pytest.raises(NotAllowed):
        formulary.add_medicine(actor=shed.vet.member, now=NOW, substance="lidocaine")
    with pytest.raises(NotAllowed):
        begin(shed, shed.vet.member, 5, TODAY)


def test_a_medicine_is_added_once_with_its_class_and_strength_read(shed, manager):
    row = formulary.add_medicine(actor=manager, now=NOW, substance="lidocaine", strength="2 %")
    assert (row.kind, row.mg_per_ml) == ("anaesthetic_local", 20)
    with pytest.raises(AlreadyDone):
        formulary.add_medicine(actor=manager, now=NOW, substance="lidocaine", strength="2 %")
    formulary.end_medicine(medicine_id=row.pk, actor=manager, now=NOW, reason="not used")
    assert formulary.add_medicine(actor=manager, now=NOW, substance="lidocaine", strength="2 %").pk == row.pk


def test_a_strength_that_contradicts_itself_is_refused(shed, manager):
    with pytest.raises(BadInput, match="Correct one"):
        formulary.add_medicine(
            actor=manager, now=NOW, substance="xylazine", strength="2 %", mg_per_ml=Decimal(100)
        )


# --- files ------------------------------------------------------------------------------------------


def take(manager, text):
    return formulary_sheet.take_sheet(actor=manager, now=NOW, text=text)


def state():
    return (
        sorted(Medicine.objects.values_list("substance", "kind", "mg_per_ml", "active")),
        sorted(map(str, LabelPeriod.objects.values())),
        AuditLine.objects.count(),
    )


def test_the_formulary_given_out_and_taken_again_changes_nothing(shed, manager):
    begin(shed, manager, 96, TODAY)
    begin(
        shed,
        manager,
        None,
        use=Use("sheep", "SC", "", "meat", 2, "GB"),
        note="to be read",
        max_dose=Decimal("0.5"),
        max_dose_unit="mg/kg",
    )
    before = state()
    change = take(manager, formulary_sheet.sheet_of(shed.practice))
    assert change.changes_nothing
    assert change.unchanged == 4
    assert state() == before


def test_a_formulary_carried_to_another_practice_is_the_same_there(shed, manager):
    begin(shed, manager, 96, TODAY)
    text = formulary_sheet.sheet_of(shed.practice)
    other = factories.a_manager(factories.a_practice())
    take(other, text)
    assert formulary_sheet.sheet_of(other.practice) == text
    lines = AuditLine.objects.for_practice(other.practice).filter(verb="formulary_imported")
    assert lines.count() == 1


def test_one_bad_cell_and_nothing_is_taken(shed, manager):
    text = formulary_sheet.sheet_of(shed.practice).replace(",18,days,", ",soon,days,")
    text = text.replace("procaine benzylpenicillin", "another substance")
    before = state()
    with pytest.raises(SheetRefused) as refused:
        take(manager, text)
    assert refused.value.facts["problems"][0]["column"] == "value"
    assert state() == before


def test_looking_at_a_file_writes_nothing(shed, manager):
    before = state()
    text = formulary_sheet.sheet_of(shed.practice).replace("procaine benzylpenicillin", "another substance")
    change = formulary_sheet.look_at_sheet(actor=manager, text=text)
    assert (len(change.added), len(change.begun)) == (1, 2)
    assert state() == before


def test_a_file_ends_what_it_replaces(shed, manager):
    text = formulary_sheet.sheet_of(shed.practice)
    line = next(row for row in text.splitlines() if ",milk," in row)
    cells = line.split(",")
    heading = text.splitlines()[0].split(",")
    cells[heading.index("value")], cells[heading.index("valid_from")] = "96", TODAY.isoformat()
    take(manager, "\r\n".join([",".join(heading), ",".join(cells)]))
    rows = shed.medicine.periods.filter(commodity="milk").order_by("pk")
    assert [(row.value, row.valid_from, row.valid_until) for row in rows] == [
        (72, None, TODAY),
        (96, TODAY, None),
    ]


def test_starter_rows_come_in_once_with_their_marks(shed, manager):
    with pytest.raises(BadInput, match="no starter rows"):
        formulary_sheet.take_starter_rows(actor=manager, now=NOW)
    manager.practice.jurisdiction = "US"
    manager.practice.save()
    first = formulary_sheet.take_starter_rows(actor=manager, now=NOW)
    again = formulary_sheet.take_starter_rows(actor=manager, now=NOW)
    assert len(first.begun) > 60
    assert again.changes_nothing
    marked = LabelPeriod.objects.filter(mark="from memory, not verified")
    assert marked.exists()
    assert all(row.needs_confirming for row in marked)


# --- batches ----------------------------------------------------------------------------------------


def test_a_batch_is_held_once_whoever_writes_its_number(shed):
    row = batches.add_batch(
        medicine_id=shed.medicine.pk,
        actor=shed.vet.member,
        now=NOW,
        number="L1a",
        expires_on=date(2027, 1, 31),
    )
    with pytest.raises(AlreadyDone):
        batches.add_batch(
            medicine_id=shed.medicine.pk, actor=shed.vet.member, now=NOW, number="l1A", expires_on=TODAY
        )
    batches.end_batch(batch_id=row.pk, actor=shed.vet.member, now=NOW, reason="used up")
    assert Batch.objects.get().ended_at == NOW
    with pytest.raises(AlreadyDone):
        batches.end_batch(batch_id=row.pk, actor=shed.vet.member, now=NOW, reason="used up")


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE cases_labelperiod SET valid_from = '2026-03-02', valid_until = '2026-03-01'",
        "UPDATE cases_labelperiod SET from_calving = true",
        "UPDATE cases_labelperiod SET max_dose = 5",
        "UPDATE cases_labelperiod SET confirmed_on = '2026-03-01'",
        "UPDATE cases_medicine SET mg_per_ml = 0",
    ],
)
def test_the_database_keeps_what_must_be_true_of_a_label(shed, statement):
    with pytest.raises(IntegrityError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement)


def test_the_database_holds_one_entry_for_a_use(shed):
    row = shed.medicine.periods.get(commodity="milk")
    row.pk = None
    with pytest.raises(IntegrityError), transaction.atomic():
        row.save(force_insert=True)
