"""The weekly review as a manager does it: open, filter, read by keyboard and phone, take the paper along."""

from datetime import timedelta
from itertools import pairwise
from pathlib import Path

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect
from psycopg.types.range import TimestamptzRange

from rotas.models import DutyKind, DutyRecord, ReportSeen, SelfReport, Vet
from rotas.services.reports import write_note
from rotas.services.vets import report_self
from tests.dispatch.pages.night import Night, a_night, sign_in

pytestmark = pytest.mark.django_db(transaction=True)

HOUR = timedelta(hours=1)


def worked(vet: Vet, hours_ago: float, hours: float, kind: str = DutyKind.CALL_OUT) -> None:
    start = timezone.now() - hours_ago * HOUR
    period = TimestamptzRange(start, start + hours * HOUR)
    source = f"visit:{hours_ago}"
    DutyRecord.objects.create(practice=vet.practice, vet=vet, kind=kind, period=period, source=source)


@pytest.fixture
def night(live_site: str) -> Night:
    """Two bad nights, one vet over a mark, and a note of what will change."""
    made = a_night()
    for hours_ago in (26, 30, 50, 74):
        worked(made.first, hours_ago, 2)
    worked(made.first, 24, 0.5, DutyKind.DRIVE_HOME)
    worked(made.second, 27, 0.2, DutyKind.PHONE)
    now = timezone.now()
    report_self(vet=made.first, state=SelfReport.NOT_SAFE, actor=made.first.member, now=now)
    write_note(vet=made.second, week=now.date(), text="Second in from Friday.", actor=made.manager, now=now)
    return made


def opened(page: Page) -> None:
    page.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")


def test_the_manager_opens_filters_and_takes_the_paper_along(page: Page, night: Night, tmp_path: Path):
    sign_in(page, night.manager)
    page.goto("/rest/")
    hours = page.get_by_role("region", name="Hours, a table")
    expect(hours.get_by_role("row")).to_have_count(3)
    drawing = page.get_by_role("img", name=f"{night.first.name}: 4 call-outs")
    expect(drawing.locator("path.sleepy")).to_have_count(1)
    expect(drawing.locator("rect.on-call")).not_to_have_count(0)
    page.get_by_label("Vet", exact=True).select_option(label=f"{night.first.code} {night.first.name}")
    page.get_by_role("button", name="Show").click()
    expect(hours.get_by_role("row")).to_have_count(2)
    with page.expect_download() as coming:
        page.get_by_role("link", name="PDF").click()
    paper = tmp_path / "report.pdf"
    coming.value.save_as(paper)
    assert coming.value.suggested_filename.startswith("rest-")
    assert paper.read_bytes().startswith(b"%PDF-")


def test_over_a_mark_the_note_is_written_where_the_reason_stands(page: Page, night: Night):
    sign_in(page, night.manager)
    page.goto("/rest/")
    expect(page.get_by_text("The vet says: not safe.")).to_be_visible()
    page.locator(f"#note-{night.first.pk}").fill("Morning off today, Tomas takes the list.")
    page.locator(f"#v-{night.first.pk}").get_by_role("button", name="Write it down").click()
    expect(page.get_by_text(f"Written down for {night.first.name}")).to_be_visible()
    opened(page)
    expect(page.get_by_text("Morning off today, Tomas takes the list.")).to_be_visible()


def test_a_vet_sees_their_own_and_says_so(page: Page, night: Night):
    sign_in(page, night.second.member)
    page.get_by_role("link", name="My report").click()
    expect(page.get_by_text("Second in from Friday.")).to_be_visible()
    assert night.first.name not in page.content()
    page.get_by_label("Is it right?").fill("One call is missing.")
    page.get_by_role("button", name="I have seen it").click()
    expect(page.get_by_text("Thank you.")).to_be_visible()
    assert ReportSeen.objects.get().says == "One call is missing."


@pytest.mark.parametrize("light", ["light", "dark"])
@pytest.mark.parametrize("who", ["manager", "vet"])
def test_no_report_breaks_an_accessibility_rule(page: Page, night: Night, axe, who, light):
    page.emulate_media(color_scheme=light)
    sign_in(page, night.manager if who == "manager" else night.first.member)
    first = timezone.now().date() - timedelta(days=200)
    for address in ("/rest/", f"/rest/?from={first}") if who == "manager" else ("/mine/report/",):
        page.goto(address)
        opened(page)
        assert axe(page) == [], address


@pytest.mark.parametrize("who", ["manager", "vet"])
def test_no_report_is_wider_than_a_phone(page: Page, night: Night, who):
    page.set_viewport_size({"width": 390, "height": 844})
    sign_in(page, night.manager if who == "manager" else night.first.member)
    page.goto("/rest/" if who == "manager" else "/mine/report/")
    opened(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    names = page.locator(".sleepy-rows svg.hours text:visible")
    boxes = [names.nth(number).bounding_box() for number in range(names.count())]
    assert len(boxes) >= 2
    for before, after in pairwise(boxes):
        assert before["x"] + before["width"] <= after["x"]
