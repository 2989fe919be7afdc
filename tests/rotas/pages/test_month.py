"""The month as it is read: who is on, on which day, nothing of another practice."""

from datetime import UTC, date, datetime, timedelta

import pytest
import time_machine
from django.test import Client

from rotas.models import ShiftRole
from tests import factories
from tests.rotas.pages.house import House, a_house

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 4, 3, 20, tzinfo=UTC)  # Good Friday, a bank holiday


@pytest.fixture
def house() -> House:
    return a_house(NOW)


def page_of(house: House, address: str = "/rota/month/") -> str:
    browser = Client()
    browser.force_login(house.vets[0].member)
    with time_machine.travel(NOW, tick=False):
        answer = browser.get(address)
    assert answer.status_code == 200
    return " ".join(answer.content.decode().split())


def row_of(page: str, day: str) -> str:
    return next(row for row in page.split("<tr") if f">{day}</span>" in row)


def test_each_day_has_its_roles_in_words(house: House) -> None:
    house.put_on(house.vets[0], date(2026, 4, 8), ShiftRole.FIRST)
    house.put_on(house.vets[1], date(2026, 4, 8), ShiftRole.SECOND)
    for vet in house.vets[2:4]:
        house.put_on(vet, date(2026, 4, 8), ShiftRole.DAY)
    first, second, day = row_of(page_of(house), "Wed 8").split("<td")[1:]
    assert "Anwen Sedgeley" in first
    assert "18:00 to 08:00" in first
    assert "Tomas Birkrigg" in second
    assert day.index("Ruth Halloran") < day.index("Idris Penhale") < day.index("08:00 to 18:00")
    assert day.count("08:00 to 18:00") == 1


def test_nobody_on_call_is_said_and_a_day_off_is_not_mourned(house: House) -> None:
    first, second, day = row_of(page_of(house), "Sat 4").split("<td")[1:]
    assert "nobody" in first
    assert "nobody" in second
    assert "nobody" not in day


def test_bank_holidays_and_today_are_named(house: House) -> None:
    page = page_of(house)
    assert "Good Friday" in row_of(page, "Fri 3")
    assert "today" in row_of(page, "Fri 3")
    assert "Easter Monday" in row_of(page, "Mon 6")
    assert "today" not in row_of(page, "Mon 6")


def test_a_duty_is_counted_in_the_month_in_which_it_begins(house: House) -> None:
    house.put_on(house.vets[0], date(2026, 3, 31), ShiftRole.FIRST)
    house.put_on(house.vets[0], date(2026, 4, 30), ShiftRole.FIRST)
    page = page_of(house)
    assert "First on call once" in page
    assert page.count('<rect class="worked"') == 2  # the end of the night in March is on the axis too
    assert "First on call once" in page_of(house, "/rota/month/?day=2026-03-15")


def test_what_is_off_the_rota_and_what_is_another_practices_is_not_there(house: House) -> None:
    shift = house.put_on(house.vets[0], date(2026, 4, 8), ShiftRole.FIRST)
    shift.ended_at = NOW
    shift.save()
    factories.a_shift(factories.a_vet(factories.a_practice(), name="Somebody Else"), NOW + timedelta(days=1))
    page = page_of(house)
    assert "nobody" in row_of(page, "Wed 8")
    assert "Somebody Else" not in page


def test_the_night_of_the_clock_change_shows_its_hours(house: House) -> None:
    house.put_on(house.vets[0], date(2026, 10, 24), ShiftRole.FIRST)
    assert "08:00 to 08:00" in row_of(page_of(house, "/rota/month/?day=2026-10-01"), "Sat 24")
