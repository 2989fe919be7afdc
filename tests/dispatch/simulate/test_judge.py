"""The judge is no rubber stamp: it finds a limit that was passed, unless somebody signed."""

from dataclasses import replace
from datetime import timedelta

import pytest

from dispatch.planner.words import Role
from dispatch.simulate.judge import nights_broken, unsigned_breaches
from dispatch.simulate.night import draw_night
from dispatch.simulate.record import Record, Signed
from rotas.rest.intervals import Duty, DutyKind

LIMIT = timedelta(hours=11)


def record_of(home_early_min: int) -> Record:
    """The first on call has a duty at nine, and is home so long before the last lawful minute."""
    night = draw_night(20, 0)
    nine = night.epoch + timedelta(minutes=night.day_min + 60)
    first = next(vet for vet in night.crew if vet.role == Role.FIRST)
    day = Duty(night.epoch - timedelta(hours=9), night.epoch - timedelta(hours=1), DutyKind.WORK)
    working = replace(first, before=(day,), after=Duty(nine, nine + timedelta(hours=8), DutyKind.WORK))
    night = replace(night, crew=(working, *night.crew[1:]))
    record = Record(night, "by hand")
    home = nine - LIMIT - timedelta(minutes=home_early_min)
    record.duties[first.id] = [Duty(home - timedelta(hours=2), home, DutyKind.CALL_OUT)]
    return record


@pytest.mark.parametrize(("early", "rules"), [(0, []), (-1, ["PR_DAILY_REST"])])
def test_one_minute_decides(early: int, rules: list[str]) -> None:
    assert [breach.rule.rule_id for _, breach in unsigned_breaches(record_of(early))] == rules


def test_a_signature_moves_the_next_duty_until_the_rest_is_had() -> None:
    record = record_of(-90)
    vet = record.night.crew[0]
    assert unsigned_breaches(record)
    record.signed.append(Signed(vet.id, "PR_DAILY_REST", 90, 0))
    assert unsigned_breaches(record) == []


def test_a_signature_for_one_vet_is_none_for_another() -> None:
    record = record_of(-90)
    record.signed.append(Signed(record.night.crew[1].id, "PR_DAILY_REST", 90, 0))
    assert unsigned_breaches(record)


def test_a_night_without_five_unbroken_hours_is_counted() -> None:
    record = record_of(0)
    vet = record.night.crew[0]
    assert nights_broken(record) == 0
    one = record.night.epoch + timedelta(hours=7)
    record.duties[vet.id] = [Duty(one, one + timedelta(hours=3), DutyKind.CALL_OUT)]
    assert nights_broken(record) == 1
