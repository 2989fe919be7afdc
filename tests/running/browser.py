"""Which Chromium the browser tests drive, and how."""

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager

from playwright.sync_api import ConsoleMessage, Page

NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
FLAGS = [
    "--no-sandbox",  # root and containers have no user namespaces to sandbox in
    "--disable-gpu",
    "--disable-quic",
    "--disable-dev-shm-usage",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
UNANSWERED = ("Failed to load resource", "htmx:sendError", "htmx:sendAbort", "htmx:afterRequest")
ABSENT = "no Chromium on this machine (Debian: apt-get install chromium)"


def chromium() -> str | None:
    """Return the browser's path, or None when the machine has none."""
    return next((path for name in NAMES if (path := shutil.which(name))), None)


def on_ci() -> bool:
    """Tell whether nothing may be skipped."""
    return os.environ.get("CI", "").lower() in {"1", "true", "yes"}


@contextmanager
def errors_of(page: Page) -> Iterator[list[str]]:
    """Collect the page's script errors and its breaches of the content security policy."""
    errors: list[str] = []

    def note(message: ConsoleMessage) -> None:
        # refused requests, and those cut off with the line or with the page, are part of many tests
        if message.type == "error" and not message.text.startswith(UNANSWERED):
            errors.append(message.text)

    page.on("console", note)
    page.on("pageerror", lambda error: errors.append(error.message))
    yield errors
