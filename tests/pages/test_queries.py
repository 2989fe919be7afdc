"""No page asks the database more often because there is more to show."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from cases.medicines.entry import Says, Use
from cases.models import Batch
from cases.services.formulary import write_entry
from dispatch.services.planning import ask_for_plan, plan_practice
from rotas.models import Role
from tests.factories import a_medicine, a_shift, an_animal
from tests.pages.site import Evening, at


def as_much_again(evening: Evening) -> None:
    """Let everything that a page lists happen once more, twice over."""
    world = evening.world
    for number in range(2):
        vet = world.another_vet(name=f"Another {number}")
        a_shift(vet, world.now + timedelta(hours=30 + number), 10)
        visit = world.visit(vet=vet)
        world.report(visit, "on_farm", 60 + number)
        for off_label in (False, True):
            world.treatment(
                visit, animal_id=an_animal(world.farm).pk, off_label=off_label,
                off_label_reason="nothing else" if off_label else "",
            )  # fmt: skip
        world.rechecks(visit)
        world.call()
        world.offer(world.call(), world.vet)
        world.booking(12 + number)
        more = a_medicine(world.practice)
        Batch.objects.create(
            practice=world.practice,
            medicine=more,
            number="L1",
            expires_on=world.now.date() - timedelta(days=1),
        )
        use = Use("sheep", f"route {number}", "", "meat", None, "")
        write_entry(world.medicine, use, Says(mark="from memory, not verified"), None)
    ask_for_plan(world.practice.pk, "there is more to do", now=world.now)
    plan_practice(world.practice.pk, world.now)


def queries(evening: Evening, role: str, address: str) -> list[str]:
    browser = at(evening.member(role))
    browser.get(address)  # roads and catalogues are read once
    with CaptureQueriesContext(
        connection,
    ) as caught:
        answer = browser.get(address)
    assert answer.status_code == 200, address
    return [query["sql"] for query in caught.captured_queries]


PAGES: dict[str, tuple[str, Callable[[Evening], str]]] = {
    "desk": (Role.RECEPTION, lambda e: "/"),
    "call": (Role.RECEPTION, lambda e: f"/calls/{e.waiting.pk}/"),
    "call without a farm": (Role.RECEPTION, lambda e: f"/calls/{e.farmless.pk}/"),
    "taking a call": (Role.RECEPTION, lambda e: "/calls/take/farms/?farm=farm"),
    "the vet's own": (Role.VET, lambda e: "/mine/"),
    "visit": (Role.VET, lambda e: f"/visits/{e.visit.pk}/"),
    "book": (Role.RECEPTION, lambda e: f"/book/?day={e.world.practice.local(e.booking.window.lower).date()}"),
    "aftercare": (Role.RECEPTION, lambda e: "/aftercare/"),
    "medicines": (Role.MANAGER, lambda e: "/medicines/"),
    "a medicine": (Role.MANAGER, lambda e: f"/medicines/{e.world.medicine.pk}/"),
    "rota": (Role.MANAGER, lambda e: "/rota/"),
    "month": (Role.VET, lambda e: "/rota/month/"),
    "a vet's rota": (Role.MANAGER, lambda e: f"/rota/vets/{e.world.vet.pk}/"),
    "swaps": (Role.MANAGER, lambda e: "/rota/swaps/"),
    "leave": (Role.MANAGER, lambda e: "/rota/leave/"),
    "cover for the ill": (Role.RECEPTION, lambda e: "/rota/ill/"),
    "drafts": (Role.MANAGER, lambda e: "/rota/make/"),
    "a draft": (Role.MANAGER, lambda e: f"/rota/make/{e.rota.rota.pk}/"),
    "one duty": (Role.MANAGER, lambda e: f"/rota/duties/{e.rota.duty.pk}/"),
    "cover needed": (Role.MANAGER, lambda e: "/rota/cover/"),
    "people on the rota": (Role.MANAGER, lambda e: "/rota/people/"),
    "calendars": (Role.MANAGER, lambda e: "/rota/calendar/"),
    "rest report": (Role.MANAGER, lambda e: "/rest/"),
    "rest table": (Role.MANAGER, lambda e: "/rest/table.csv"),
    "rest workbook": (Role.MANAGER, lambda e: "/rest/report.xlsx"),
    "rest on paper": (Role.MANAGER, lambda e: "/rest/report.pdf"),
    "the vet's own report": (Role.VET, lambda e: "/mine/report/"),
    "story": (Role.RECEPTION, lambda e: "/story/"),
}
MOST = 45
"""Queries that any page may make; the desk makes the most."""


def test_pages_make_no_more_queries_for_twice_the_rows(evening: Evening) -> None:
    before = {name: queries(evening, role, where(evening)) for name, (role, where) in PAGES.items()}
    as_much_again(evening)
    for name, (role, where) in PAGES.items():
        after = queries(evening, role, where(evening))
        more = sorted(set(after) - set(before[name]))
        assert len(after) <= len(before[name]), (name, len(before[name]), len(after), more[:3])
        assert len(after) <= MOST, (name, len(after))


@pytest.mark.parametrize("name", PAGES)
def test_pages_say_the_same_to_every_reader(evening: Evening, name: str) -> None:
    """Reading writes nothing, but for who was seen last."""
    role, where = PAGES[name]
    for sql in queries(evening, role, where(evening)):
        assert sql.startswith(("SELECT", "SAVEPOINT", "RELEASE")) or "django_session" in sql, sql
