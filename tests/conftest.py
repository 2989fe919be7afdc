"""Fixtures every test may ask for: a clean broker, a worker, the whole site, a browser."""

import gc
from collections.abc import Callable, Iterator
from contextlib import suppress
from typing import Any

import hypothesis
import pytest
from axe_playwright_python.sync_playwright import Axe
from celery.contrib.testing.worker import start_worker
from django.db import OperationalError
from django.test.utils import setup_databases, teardown_databases
from playwright.sync_api import Page

from dispatch.garbage import look_seldom
from tests.running import browser
from tests.running.broker import forget_keys
from tests.running.emptying import instead_of_flush
from tests.running.site import Site, StartWorker, Workers
from tests.running.slowest import slowest_files

# Generated inputs repeat from run to run, and none fails for taking long on a busy machine.
hypothesis.settings.register_profile(
    "byrelight", deadline=None, derandomize=True, database=None, max_examples=50
)
hypothesis.settings.register_profile("thousands", deadline=None, database=None, max_examples=3000)
hypothesis.settings.load_profile("byrelight")  # --hypothesis-profile=thousands has the last word

QUEUES = ["plan", "build", "messages", "clock"]


instead_of_flush()
gc.disable()  # while the tests are found: a quarter of the time went into looking through what stays


@pytest.hookimpl(trylast=True)
def pytest_collection_finish() -> None:
    """Set aside the modules and tests found, which live to the end, and collect what each test leaves."""
    look_seldom()
    gc.enable()


@pytest.fixture(scope="session")
def django_db_setup(
    django_test_environment: None, django_db_modify_db_settings: None, django_db_blocker: Any
) -> Iterator[None]:
    """Make the run's own database, whoever asks for it.

    The plugin's own fixture makes it for tests with a mark only; those whose rows are shared by a file have
    none, and run alone they would write into the database that is named outside.
    """
    with django_db_blocker.unblock():
        made = setup_databases(verbosity=0, interactive=False)
    yield
    # a child of the last test may still be letting go of its connection; the server goes with the run
    with django_db_blocker.unblock(), suppress(OperationalError):
        teardown_databases(made, verbosity=0)


@pytest.fixture(autouse=True)
def _forget_keys(request: pytest.FixtureRequest) -> None:
    """Begin each test that writes with an empty cache and empty queues."""
    marked = request.node.get_closest_marker("django_db") is not None
    if marked or {"db", "transactional_db"} & set(request.fixturenames):
        forget_keys()


@pytest.fixture(autouse=True)
def _search_not_ready(monkeypatch: pytest.MonkeyPatch) -> None:
    """Begin each test without the compiled search, as a fresh process does, whatever ran before."""
    monkeypatch.setattr("dispatch.planner.search.warm._warm", False)


@pytest.fixture
def celery_worker(transactional_db: None) -> Iterator[None]:
    """A real worker for all queues, in a thread of this process, over the real broker."""
    from dispatch.celery import app

    with start_worker(app, pool="threads", concurrency=2, queues=QUEUES, perform_ping_check=False):
        yield


@pytest.fixture
def worker_process(transactional_db: None, tmp_path_factory: pytest.TempPathFactory) -> Iterator[StartWorker]:
    """A function that starts a worker process; the test may kill what it returns."""
    workers = Workers(tmp_path_factory.mktemp("workers"))
    yield workers.start
    workers.stop()


@pytest.fixture(scope="session")
def _site(django_db_setup: None, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    with Site(tmp_path_factory.mktemp("site")) as site:
        yield site


@pytest.fixture
def live_site(transactional_db: None, _site: Site) -> str:
    """The address of the whole site, served by its own process on the test's database.

    It answers pages, API, static files and live updates. Settings and clocks changed by a test
    do not reach it.
    """
    return _site.url


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict[str, Any]) -> dict[str, Any]:
    """Drive the machine's own Chromium."""
    program = browser.chromium()
    if program is None and browser.on_ci():
        pytest.fail(browser.ABSENT)
    if program is None:
        pytest.skip(browser.ABSENT)
    return browser_type_launch_args | {"executable_path": program, "args": browser.FLAGS}


@pytest.fixture(scope="session")
def browser_context_args(browser_context_args: dict[str, Any], _site: Site) -> dict[str, Any]:
    """Let a page name its address from the root; show times and dates as in Ireland."""
    return browser_context_args | {"base_url": _site.url, "locale": "en-IE", "timezone_id": "Europe/Dublin"}


@pytest.fixture
def page(page: Page, live_site: str) -> Iterator[Page]:
    """A page that fails the test on any script error or breach of the content security policy."""
    with browser.errors_of(page) as errors:
        yield page
    assert errors == []


@pytest.fixture
def axe() -> Callable[..., list[str]]:
    """A function that takes a page and returns the accessibility rules it breaks, with the places."""

    def violations(page: Page, **options: Any) -> list[str]:
        found = Axe().run(page, **options).response["violations"]
        return [f"{rule['id']}: {node['html']}" for rule in found for node in rule["nodes"]]

    return violations


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """Name each skipped test, so that none is missed in silence, and the slowest files if asked."""
    shown = terminalreporter.config.getoption("durations")
    if shown is not None:
        terminalreporter.section("slowest files")
        reports = [report for kind in terminalreporter.stats.values() for report in kind]
        for line in slowest_files(reports, shown):
            terminalreporter.write_line(line)
    for report in terminalreporter.stats.get("skipped", []):
        terminalreporter.write_line(f"NOT RUN {report.nodeid}: {report.longrepr[2]}", yellow=True, bold=True)
