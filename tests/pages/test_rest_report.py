"""The report's pages: what the manager filters and writes, and what a vet sees of themselves."""

import csv
from datetime import date, timedelta
from io import StringIO

import pytest

from rotas.models import ReportNote, ReportSeen, Role, SelfReport, Vet
from rotas.services.reports import write_note
from rotas.services.vets import report_self
from tests.pages.forms import alerts_of
from tests.pages.site import Evening, at

TODAY = date(2026, 3, 14)


def page_of(evening: Evening, role: str, address: str) -> str:
    answer = at(evening.member(role)).get(address)
    assert answer.status_code == 200, address
    return answer.content.decode()


def test_the_manager_reads_raw_hours_before_any_word(evening: Evening) -> None:
    shown = page_of(evening, Role.MANAGER, "/rest/")
    order = [shown.index(each) for each in (">Worked<", ">In words<", ">Rules broken<", 'id="ahead-title"')]
    assert order == sorted(order)
    assert "nobody is ranked" in shown
    assert "“Too tired” from a vet stands without question" in shown


def test_one_person_is_shown_alone_and_the_files_follow_the_filter(evening: Evening) -> None:
    vet = evening.world.vet
    question = f"?from=2026-03-01&to=2026-03-14&vet={vet.pk}"
    shown = page_of(evening, Role.MANAGER, f"/rest/{question}")
    assert shown.count('class="strong">' + vet.code) >= 1
    assert f"/rest/report.pdf{question.replace('&', '&amp;')}" in shown
    rows = csv.DictReader(StringIO(page_of(evening, Role.MANAGER, f"/rest/table.csv{question}")))
    assert [row["code"] for row in rows] == [vet.code]


def test_another_practices_vet_is_not_there(evening: Evening, theirs: Evening) -> None:
    manager = at(evening.member(Role.MANAGER))
    for address in ("/rest/", "/rest/report.pdf", "/rest/report.xlsx", "/rest/table.csv"):
        assert manager.get(address, {"vet": theirs.world.vet.pk}).status_code == 404, address
    assert manager.post(f"/rest/notes/{theirs.world.vet.pk}/", {"text": "no"}).status_code == 404
    assert ReportNote.objects.count() == 0


@pytest.mark.parametrize(
    ("question", "status"),
    [
        ({"from": "2025-03-14", "to": "2026-03-14"}, 200),
        ({"from": "2025-03-13", "to": "2026-03-14"}, 400),
        ({"from": "2026-03-15", "to": "2026-03-14"}, 400),
        ({"fair": "2026-03-15"}, 400),
        ({"fair": "2022-01-01"}, 400),
        ({"fair": "2025-09-01"}, 200),
        ({"vet": "x"}, 400),
    ],
)
def test_a_period_of_366_days_is_the_longest(evening: Evening, question: dict, status: int) -> None:
    answer = at(evening.member(Role.MANAGER)).get("/rest/", question)
    assert answer.status_code == status
    assert status == 200 or alerts_of(answer.content.decode())[0][-1] == "."


def test_every_table_comes_as_csv_and_an_unknown_one_is_named(evening: Evening) -> None:
    manager = at(evening.member(Role.MANAGER))
    for part in ("hours", "rest", "weeks", "fairness", "trend", "ahead", "sleepiness", "breaches"):
        answer = manager.get("/rest/table.csv", {"table": part})
        assert answer.status_code == 200
        assert f'filename="{part}-' in answer["Content-Disposition"]
    refused = manager.get("/rest/table.csv", {"table": "ranking"})
    assert refused.status_code == 400
    assert "choose one of hours" in alerts_of(refused.content.decode())[0]


def test_over_a_mark_the_manager_is_asked_what_will_change_until_it_is_written(evening: Evening) -> None:
    world, manager = evening.world, at(evening.member(Role.MANAGER))
    report_self(vet=world.vet, state=SelfReport.NOT_SAFE, actor=world.vet.member, now=world.now)
    field = f'action="/rest/notes/{world.vet.pk}/"'
    asking = "Over a mark: say what will change."
    before = manager.get("/rest/").content.decode()
    assert field in before
    assert asking in before
    sent = manager.post(f"/rest/notes/{world.vet.pk}/", {"text": "Monday off.", "week": "2026-03-09"})
    assert (sent.status_code, sent.url) == (302, "/rest/")
    assert ReportNote.objects.get().week == date(2026, 3, 9)
    assert asking not in manager.get("/rest/").content.decode()
    own = page_of(evening, Role.VET, "/mine/report/")
    assert "Monday off." in own


def test_a_vet_sees_the_same_row_alone_and_the_manager_when_it_was_seen(evening: Evening) -> None:
    world = evening.world
    write_note(vet=world.vet, week=TODAY, text="A locum on Friday.", actor=world.manager, now=world.now)
    own = page_of(evening, Role.VET, "/mine/report/")
    everyone = Vet.objects.for_practice(world.practice).select_related("member")
    others = everyone.exclude(pk=world.vet.pk)
    assert others
    assert all(vet.name not in own for vet in others)
    vet = at(evening.member(Role.VET))
    sent = vet.post(
        "/mine/report/seen/", {"first": "2026-03-01", "last": "2026-03-14", "says": "A call is missing."}
    )
    assert sent.status_code == 302
    assert ReportSeen.objects.get().says == "A call is missing."
    shown = page_of(evening, Role.MANAGER, "/rest/")
    assert "Sat 14 Mar 21:00" in shown
    assert "A call is missing." in shown


def test_the_files_open_and_are_named_by_their_days(evening: Evening) -> None:
    for role, address in (
        (Role.MANAGER, "/rest/report.pdf"),
        (Role.MANAGER, "/rest/report.xlsx"),
        (Role.VET, "/mine/report/report.pdf"),
    ):
        answer = at(evening.member(role)).get(address, {"from": "2026-03-01", "to": "2026-03-14"})
        assert answer.content[:4] in (b"%PDF", b"PK\x03\x04")
        assert "rest-20260301-20260314" in answer["Content-Disposition"]


def test_days_to_come_are_an_empty_report(evening: Evening) -> None:
    first = TODAY + timedelta(days=30)
    shown = page_of(evening, Role.MANAGER, f"/rest/?from={first}&to={first + timedelta(days=6)}")
    assert "0 h 00" in shown
