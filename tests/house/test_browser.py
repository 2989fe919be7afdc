"""The browser tests look where they should: each guard fails on a page that deserves it."""

from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, Page

from tests.running.browser import errors_of

pytestmark = pytest.mark.django_db(transaction=True)


def test_axe_finds_what_a_reader_cannot_use(page: Page, axe: Callable[..., list[str]]) -> None:
    page.set_content("<html lang=en><title>A byre</title><main><h1>Byre</h1><img src='data:,'></main></html>")
    assert any(found.startswith("image-alt: <img") for found in axe(page))


def test_axe_is_content_with_a_plain_page(page: Page, axe: Callable[..., list[str]]) -> None:
    page.set_content("<html lang=en><title>A byre</title><main><h1>Byre</h1></main></html>")
    assert axe(page) == []


def test_policy_reaches_the_browser_and_holds(context: BrowserContext, live_site: str) -> None:
    page = context.new_page()  # without the guard of the page fixture, which this would set off
    answer = page.goto("/sign-in/")
    assert answer is not None
    policy = answer.headers["content-security-policy"]
    assert "default-src 'self'" in policy
    assert "unsafe" not in policy
    with page.expect_console_message(lambda message: "Content Security Policy" in message.text):
        page.evaluate(
            "document.body.append(Object.assign(document.createElement('script'), {text: 'x = 1'}))"
        )


def test_guard_notes_what_a_page_script_says_went_wrong(context: BrowserContext) -> None:
    page = context.new_page()
    with errors_of(page) as errors:
        page.evaluate("console.error('the map could not be drawn')")
        page.evaluate("setTimeout(() => { throw new Error('out of hay') })")
        page.wait_for_event("pageerror")
        page.evaluate("console.error('Failed to load resource: 409')")
    assert errors == ["the map could not be drawn", "out of hay"]
