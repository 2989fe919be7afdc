"""manage.py bench_report: how long the manager waits for the shift-fatigue report of a large practice."""

from collections.abc import Callable, Iterator
from datetime import date, datetime, timedelta
from time import perf_counter
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.db import connection, transaction
from django.test import RequestFactory
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from psycopg.types.range import TimestamptzRange

from dispatch.garbage import look_seldom
from rotas.fatigue_report.invented import days
from rotas.models import DutyRecord, Member, Practice, Role, Shift, ShiftRole, Vet
from rotas.pages import rest_report
from rotas.rest.intervals import Span

BEFORE = timedelta(weeks=18)  # the reference period of the first day, and a week
AHEAD = timedelta(days=8)


class Command(BaseCommand):
    help = (
        "Open the shift-fatigue report of an invented practice (30 vets and 365 days unless said otherwise) "
        "and its files. Prints the seconds and the database queries of each. Works inside a transaction on "
        "the database at hand and leaves nothing in it."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--vets", type=int, default=30)
        parser.add_argument("--days", type=int, default=365)
        parser.add_argument("--again", type=int, default=3, help="how often each is opened (default 3)")

    def handle(self, *args: Any, **options: Any) -> None:
        look_seldom()  # as the web process does
        with transaction.atomic():
            try:
                self._measure(options["vets"], options["days"], options["again"])
            finally:
                transaction.set_rollback(True)

    def _measure(self, vets: int, count: int, again: int) -> None:
        now = timezone.now()
        manager = invent(vets, count, now)
        last = manager.practice.local(now).date()
        year = {"from": f"{last - timedelta(days=count - 1)}", "to": f"{last}"}
        self.stdout.write(f"{vets} vets, {count} days: {Shift.objects.count()} shifts, "
                          f"{DutyRecord.objects.count()} stretches of work")  # fmt: skip
        for name, view, asked in _opened(year):
            seconds, queries, size = _opening(view, asked, manager, again)
            told = ", ".join(f"{each:.2f}" for each in seconds)
            self.stdout.write(f"{name:<24} {min(seconds):6.2f} s ({told})  {queries} queries, {size} kB")


def _opened(year: dict[str, str]) -> Iterator[tuple[str, Callable[..., Any], dict[str, str]]]:
    yield "page, the whole period", rest_report.show, year
    yield "page, a fortnight", rest_report.show, {}
    yield "CSV", rest_report.as_csv, year
    yield "XLSX", rest_report.as_xlsx, year
    yield "PDF", rest_report.as_pdf, year


def _opening(
    view: Callable[..., Any], asked: dict[str, str], manager: Member, again: int
) -> tuple[list[float], int, int]:
    """Return the seconds of each opening, the queries and the answer's size in kB."""
    seconds = []
    for _ in range(again):
        request = RequestFactory().get("/rest/", asked)
        request.user = manager
        with CaptureQueriesContext(connection) as caught:
            begun = perf_counter()
            answer = view(request)
            seconds.append(perf_counter() - begun)
    if answer.status_code != 200:
        raise SystemExit(f"The report answered {answer.status_code}.")
    return seconds, len(caught), len(answer.content) // 1000


def invent(vets: int, count: int, now: datetime) -> Member:
    """Write an invented practice that worked for so many days up to now, and return its manager."""
    practice = Practice.objects.create(
        name="Invented", slug=f"invented-{now.timestamp():.0f}", base_latitude=54.5, base_longitude=-3.0
    )
    first = practice.local(now - timedelta(days=count) - BEFORE).date()
    length = count + (BEFORE + AHEAD).days
    for number in range(1, vets + 1):
        _write(_vet(practice, number), number, first, length, now)
    return _member(practice, "manager", [Role.MANAGER])


def _member(practice: Practice, name: str, roles: list[str]) -> Member:
    username = f"{practice.slug}-{name}".replace(" ", "-")
    return Member.objects.create(practice=practice, username=username, name=name, roles=roles)


def _vet(practice: Practice, number: int) -> Vet:
    member = _member(practice, f"Vet {number}", [Role.VET])
    home = {"home_latitude": practice.base_latitude, "home_longitude": practice.base_longitude}
    return Vet.objects.create(practice=practice, member=member, code=f"V{number}", **home)


def _write(vet: Vet, number: int, first: date, length: int, now: datetime) -> None:
    shifts, worked = [], []
    for day in days(number, first, length, vet.practice.tz):
        role, night = day.on_call or ("", None)
        # a night on call begins when the day duty is over, and ends before the next one
        shifts += [_shift(vet, ShiftRole.DAY, day.day_duty)] if day.day_duty else []
        shifts += [_shift(vet, role, night)] if night else []
        worked += [
            DutyRecord(
                practice=vet.practice, vet=vet, kind=kind, period=_range(span), drive_km=km,
                source=f"visit:{vet.pk}{span.start.timestamp():.0f}",
            )
            for kind, span, km in day.worked
            if span.end <= now
        ]  # fmt: skip
    Shift.objects.bulk_create(shifts)
    DutyRecord.objects.bulk_create(worked)


def _shift(vet: Vet, role: str, span: Span) -> Shift:
    return Shift(practice=vet.practice, vet=vet, role=role, period=_range(span))


def _range(span: Span) -> TimestamptzRange:
    return TimestamptzRange(span.start, span.end)
