"""A displaced abomasum end to end: found, talked through, agreed, done, told, followed to day 60."""

from datetime import datetime, timedelta
from decimal import Decimal

import pytest
import time_machine
from django.test import Client

from cases.errors import WrongFarm
from cases.models import ProcedureRecord, ProcedureState
from cases.services.operations import Used, write_operation, write_outcome
from cases.services.procedures import (
    open_procedure,
    tell_aftercare,
    write_consent,
    write_findings,
    write_not_done,
)
from cases.services.visits import report_progress
from rotas.errors import AlreadyDone, BadInput, FromTheFuture, NotAllowed
from rotas.models import AuditLine, Kit, KitState
from tests import factories
from tests.cases.services.shed import Shed
from tests.factories import NOW

pytestmark = pytest.mark.django_db

MINUTE, DAY = timedelta(minutes=1), timedelta(days=1)
START, END = NOW - timedelta(minutes=75), NOW - timedelta(minutes=5)


@pytest.fixture
def shed() -> Shed:
    return Shed()


def opened(shed: Shed, **values) -> ProcedureRecord:
    return open_procedure(
        **{
            "visit_id": shed.visit.pk,
            "actor": shed.vet.member,
            "now": NOW,
            "kind": "displaced_abomasum",
            "animal_id": shed.cow.pk,
            "findings": {"ping_side": "left", "heart_rate": "84", "ketones": "2.4"},
            "problems": "left displaced abomasum; ketosis",
            "options": ["roll_and_toggle", "right_flank_omentopexy"],
        }
        | values
    )


def agreed(shed: Shed, record: ProcedureRecord, **values) -> ProcedureRecord:
    return write_consent(
        **{
            "record_id": record.pk,
            "actor": shed.vet.member,
            "now": NOW,
            "by": "Mr Hobb, owner",
            "how": "spoken",
            "at": START - MINUTE,
            "ceiling": Decimal(450),
            "if_worse": "stop",
        }
        | values
    )


def done(shed: Shed, record: ProcedureRecord, **values) -> ProcedureRecord:
    return write_operation(
        **{
            "record_id": record.pk,
            "actor": shed.vet.member,
            "now": NOW,
            "method": "right_flank_omentopexy",
            "started_at": START,
            "ended_at": END,
        }
        | values
    )


def test_from_the_first_ping_to_day_60(shed: Shed) -> None:
    (kit,) = factories.kit_of(shed.vet, "surgical_kit_cattle")
    record = opened(shed)
    assert record.options == ["right_flank_omentopexy", "roll_and_toggle"]  # in the order of the table
    assert agreed(shed, record).state == ProcedureState.AGREED
    until = NOW + timedelta(hours=10)
    record = done(shed, record, kit=[Used(kit.pk, KitState.STERILISING, until)], assistants="the farmer")
    assert (record.state, record.surgeon) == (ProcedureState.DONE, shed.vet)
    kit.refresh_from_db()
    assert (kit.state, kit.ready_at) == (KitState.STERILISING, until)
    tell_aftercare(record_id=record.pk, actor=shed.vet.member, now=NOW, words="Eating? Dunging? Temperature?")
    (letter,) = [each for each in shed.told() if "displaced abomasum" in each.subject]
    assert "Dunging?" in letter.body
    days = {row.day: row.asked_at for row in record.outcomes.all()}
    assert sorted(days) == [4, 14, 60]
    for day, outcome in ((4, "alive"), (14, "well"), (60, "well")):
        write_outcome(
            record_id=record.pk,
            day=day,
            actor=shed.vet.member,
            now=days[day],
            outcome=outcome,
            words="milking",
        )
    assert not record.outcomes.filter(outcome="").exists()
    verbs = set(AuditLine.objects.for_practice(shed.practice).values_list("verb", flat=True))
    assert {"procedure_opened", "procedure_agreed", "procedure_done", "procedure_told"} <= verbs


def test_danger_nobody_is_cut_without_consent_or_a_reason(shed: Shed) -> None:
    record = opened(shed)
    with pytest.raises(BadInput, match="consent"):
        done(shed, record)
    assert done(shed, record, without_consent="dying; the owner could not be reached").without_consent


@pytest.mark.parametrize(("at", "stands"), [(START, True), (START + MINUTE, False)])
def test_consent_counts_from_before_the_first_cut(shed: Shed, at: datetime, stands: bool) -> None:
    record = agreed(shed, opened(shed), at=at)
    if stands:
        assert done(shed, record).state == ProcedureState.DONE
    else:
        with pytest.raises(BadInput):
            done(shed, record)


def test_danger_a_blind_stitch_on_the_right_needs_its_reason(shed: Shed) -> None:
    record = agreed(shed, opened(shed, findings={"ping_side": "right"}))
    with pytest.raises(BadInput, match="right"):
        done(shed, record, method="roll_and_toggle")
    assert done(shed, record, method="roll_and_toggle", against_method="nothing else at hand").against_method


def test_what_is_written_over_keeps_its_reason_and_the_row_before(shed: Shed) -> None:
    record = agreed(shed, opened(shed))
    done(shed, record)
    with pytest.raises(BadInput, match="reason"):
        done(shed, record, ended_at=END - MINUTE)
    done(shed, record, ended_at=END - MINUTE, reason="read the clock wrongly")
    with pytest.raises(BadInput):
        agreed(shed, record, by="Mrs Hobb")
    agreed(shed, record, by="Mrs Hobb", reason="it was she")
    write_findings(
        record_id=record.pk, actor=shed.vet.member, now=NOW, findings={"ping_side": "left"}, reason="slip"
    )
    history = ProcedureRecord.pgh_event_model.objects.filter(pgh_obj=record.pk)
    assert {row.ended_at for row in history} >= {END, END - MINUTE}
    assert {row.consent_by for row in history} >= {"Mr Hobb, owner", "Mrs Hobb"}


@pytest.mark.parametrize(
    ("start", "end", "good"),
    [
        (END - 12 * 60 * MINUTE, END, True),
        (END - 12 * 60 * MINUTE - MINUTE, END, False),
        (END, END, False),
        (END - MINUTE, END, True),
        (START, NOW + 2 * MINUTE, True),
        (START, NOW + 3 * MINUTE, False),
    ],
)
def test_times_that_cannot_be_are_refused(shed: Shed, start: datetime, end: datetime, good: bool) -> None:
    record = agreed(shed, opened(shed), at=START - 2 * DAY)
    if good:
        assert done(shed, record, started_at=start, ended_at=end).ended_at == end
    else:
        with pytest.raises((BadInput, FromTheFuture)):
            done(shed, record, started_at=start, ended_at=end)


def test_a_death_answers_the_later_days(shed: Shed) -> None:
    record = done(shed, agreed(shed, opened(shed)))
    write_outcome(record_id=record.pk, day=4, actor=shed.vet.member, now=NOW + DAY, outcome="dead")
    assert set(record.outcomes.values_list("outcome", flat=True)) == {"dead"}


def test_nobody_is_well_on_a_day_that_is_still_to_come(shed: Shed) -> None:
    record = done(shed, agreed(shed, opened(shed)))
    asked = record.outcomes.get(day=14).asked_at
    values = {"record_id": record.pk, "day": 14, "actor": shed.vet.member, "outcome": "well"}
    with pytest.raises(BadInput, match="still to come"):
        write_outcome(now=asked - DAY - MINUTE, **values)
    assert write_outcome(now=asked - DAY, **values).outcome == "well"
    with pytest.raises(BadInput, match="answered"):
        write_outcome(now=asked, **values)


def test_a_corrected_end_moves_what_is_still_asked(shed: Shed) -> None:
    record = done(shed, agreed(shed, opened(shed), at=START - 2 * DAY))
    before = record.outcomes.get(day=4).asked_at
    done(shed, record, started_at=START - DAY, ended_at=END - DAY, reason="yesterday")
    assert record.outcomes.get(day=4).asked_at == before - DAY


def test_not_done_says_why_and_closes_the_record(shed: Shed) -> None:
    record = opened(shed)
    write_not_done(record_id=record.pk, actor=shed.vet.member, now=NOW, why="the owner culls her")
    for later in (agreed, done):
        with pytest.raises(AlreadyDone):
            later(shed, record)


def test_a_piece_named_on_the_record_is_the_one_that_was_used(shed: Shed) -> None:
    """Two kits in the car: the end of the visit must not take the clean one for used."""
    used, clean = factories.kit_of(shed.vet, "surgical_kit_cattle", "surgical_kit_cattle")
    done(shed, agreed(shed, opened(shed)), kit=[Used(used.pk)])
    for number, kind in enumerate(("set_out", "on_farm", "finished")):
        report_progress(
            visit_id=shed.visit.pk,
            actor=shed.vet.member,
            now=NOW,
            kind=kind,
            happened_at=NOW - (3 - number) * MINUTE,
            key=f"k{number}",
            kit_used=["surgical_kit_cattle"] if kind == "finished" else None,
        )
    assert Kit.objects.get(pk=clean.pk).state == KitState.READY
    assert Kit.objects.get(pk=used.pk).state == KitState.USED


def test_another_farms_cow_and_another_role_are_refused(shed: Shed) -> None:
    stranger = factories.an_animal(factories.a_farm(shed.practice))
    with pytest.raises(WrongFarm):
        opened(shed, animal_id=stranger.pk)
    with pytest.raises(NotAllowed):
        opened(shed, actor=factories.reception(shed.practice))
    opened(shed)
    with pytest.raises(AlreadyDone):
        opened(shed)


@time_machine.travel(NOW, tick=False)
def test_the_page_takes_a_record_from_beginning_to_outcome(shed: Shed, client: Client) -> None:
    client.force_login(shed.vet.member)
    visit = f"/visits/{shed.visit.pk}/procedure"
    assert "Ping" in client.get(f"{visit}/?kind=displaced_abomasum").content.decode()
    form = {"animal": shed.cow.pk, "finding-heart_rate": "500", "problems": "x"}
    bad = client.post(f"{visit}s/?kind=displaced_abomasum", form)
    assert bad.status_code == 400
    assert 'value="500"' in bad.content.decode()
    form |= {"finding-heart_rate": "104", "option-right_flank_omentopexy": "yes"}
    page = client.post(f"{visit}s/?kind=displaced_abomasum", form)["Location"]
    assert "Heart rate 100 or more" in client.get(page).content.decode()

    def step(name: str, **said: str) -> int:
        return client.post(f"{page}{name}/", said).status_code

    assert step("consent", by="Mr Hobb", how="telephone", if_worse="stop") == 302
    start, end = (f"{shed.practice.local(at):%Y-%m-%dT%H:%M}" for at in (START, END))
    operation = {"method": "right_flank_omentopexy", "started_at": start, "ended_at": end}
    assert step("operation", **operation) == 400  # agreed only after the first cut
    assert step("operation", **operation, without_consent="spoken before, written after") == 302
    assert step("aftercare", words="Is she eating?") == 302
    assert step("outcome", day="4", outcome="dead", words="found dead") == 302
    assert step("nonsense") == 404
    assert "0 of 1 alive" in client.get("/procedures/").content.decode()
