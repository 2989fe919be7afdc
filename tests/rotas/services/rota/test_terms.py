"""The terms of a vet on the rota reach the builder, leave one line each, and again change nothing."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from rotas.errors import BadInput, NotAllowed, NotFound
from rotas.models import AuditLine, ShiftRole, Vet
from rotas.services.rota_questions import question_for
from rotas.services.rota_terms import MOST_NIGHTS, set_rota_terms
from rotas.services.wishes import end_keep_off, end_named_second, keep_off, name_second
from tests.rotas.services.rota.world import DAY, EARLIER, MONDAY, Nights

SUNDAY = MONDAY + 6 * DAY
TERMS: dict[str, Any] = {
    "contract_share": Decimal("0.60"),
    "started_on": date(2026, 3, 1),
    "rota_roles": ["day", "first", "first"],
    "most_nights_running": 2,
}


def settle(world: Nights, **changed: Any) -> Vet:
    given = {"vet": world.vets[0], "actor": world.manager, "now": EARLIER} | TERMS | changed
    return set_rota_terms(**given)


def lines(verb: str) -> list[AuditLine]:
    return list(AuditLine.objects.filter(verb=verb).order_by("pk"))


def person(world: Nights) -> Any:
    return question_for(world.practice, MONDAY, SUNDAY, EARLIER).people[0]


def test_terms_reach_the_builder_and_leave_one_line(world: Nights) -> None:
    for _ in range(2):
        vet = settle(world)
    assert vet.rota_roles == ["first", "day"]
    mine = person(world)
    assert (mine.contract_share, mine.started_on) == (0.6, date(2026, 3, 1))
    assert (mine.roles, mine.most_nights_in_a_row) == ({"first", "day"}, 2)
    (line,) = lines("rota_terms_set")
    assert line.sentence == (
        "Vet A on the rota: first on call, day vet; 60 % of full time; since 1 Mar 2026; "
        "at most 2 nights running"
    )
    assert line.before["rota_roles"] == list(ShiftRole.values)
    assert line.after["rota_roles"] == ["first", "day"]
    assert Decimal(line.before["contract_share"]) == 1
    assert Decimal(line.after["contract_share"]) == Decimal("0.6")


def test_terms_can_be_opened_again(world: Nights) -> None:
    settle(world)
    vet = settle(world, started_on=None, most_nights_running=None, rota_roles=[], contract_share=Decimal(1))
    vet.refresh_from_db()
    assert (vet.started_on, vet.most_nights_running, vet.rota_roles) == (None, None, [])
    assert "no role on the rota; 100 % of full time" in lines("rota_terms_set")[1].sentence


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("contract_share", Decimal(0)),
        ("contract_share", Decimal("1.01")),
        ("contract_share", Decimal("0.605")),
        ("contract_share", Decimal("-0.5")),
        ("rota_roles", ["first", "third"]),
        ("most_nights_running", 0),
        ("most_nights_running", MOST_NIGHTS + 1),
    ],
)
def test_terms_that_cannot_be_meant_are_refused(world: Nights, field: str, value: Any) -> None:
    with pytest.raises(BadInput) as refused:
        settle(world, **{field: value})
    assert refused.value.facts["field"] == field
    assert lines("rota_terms_set") == []
    assert person(world).contract_share == 1


def test_only_a_manager_of_the_practice_settles_terms(world: Nights) -> None:
    with pytest.raises(NotAllowed):
        settle(world, actor=world.vets[0].member)
    with pytest.raises(NotFound):
        settle(world, actor=Nights(vets=1, name="Theirs").manager)


def test_a_rule_is_written_once_and_ended_once(world: Nights) -> None:
    vet = world.vets[0]
    for _ in range(2):
        rule = keep_off(vet=vet, weekday=1, role="first", actor=world.manager, now=EARLIER)
    for _ in range(2):
        end_keep_off(rule_id=rule.pk, ends_on=SUNDAY, actor=world.manager, now=EARLIER)
    (made,), (ended,) = lines("kept_off"), lines("keep_off_ended")
    assert made.sentence == "Vet A not first on call on Tuesdays"
    assert ended.sentence == "Vet A not first on call on Tuesdays, until 7 Jun 2026"
    assert (ended.before["ends_on"], ended.after["ends_on"]) == (None, "2026-06-07")


def test_a_named_second_ends_and_the_vet_is_first_alone_again(world: Nights) -> None:
    vet, second = world.vets[:2]
    for _ in range(2):
        row = name_second(vet=vet, second=second, actor=world.manager, now=EARLIER)
    assert person(world).needs_named_second == {str(second.pk)}
    for _ in range(2):
        end_named_second(row_id=row.pk, ends_on=EARLIER.date(), actor=world.manager, now=EARLIER)
    assert person(world).needs_named_second == frozenset()
    assert len(lines("second_named")) == 1
    (line,) = lines("named_second_ended")
    assert line.sentence == "Vet B is second for Vet A, until 1 Apr 2026"
    assert (line.before["ends_on"], line.after["ends_on"]) == (None, "2026-04-01")
    name_second(vet=vet, second=second, actor=world.manager, now=EARLIER)
    assert person(world).needs_named_second == {str(second.pk)}


def test_an_end_before_the_beginning_or_of_anothers_rule_is_refused(world: Nights) -> None:
    vet, second = world.vets[:2]
    row = name_second(vet=vet, second=second, starts_on=MONDAY, actor=world.manager, now=EARLIER)
    with pytest.raises(BadInput):
        end_named_second(row_id=row.pk, ends_on=MONDAY - DAY, actor=world.manager, now=EARLIER)
    theirs = Nights(vets=1, name="Theirs").manager
    with pytest.raises(NotFound):
        end_named_second(row_id=row.pk, ends_on=SUNDAY, actor=theirs, now=EARLIER)
    with pytest.raises(NotAllowed):
        end_named_second(row_id=row.pk, ends_on=SUNDAY, actor=vet.member, now=EARLIER)
    row.refresh_from_db()
    assert row.ends_on is None
