"""The vet's one tap on their own page, with the hours slept if they like."""

from decimal import Decimal

import pytest
from django.test import Client

from rotas.models import TirednessReport
from tests.dispatch.services.evening import Evening

pytestmark = pytest.mark.django_db


@pytest.fixture
def evening() -> Evening:
    return Evening()


def tap(evening: Evening, **form: str):
    browser = Client()
    browser.force_login(evening.anand.member)
    return browser.post("/mine/feel/", form)


@pytest.mark.parametrize(("typed", "kept"), [("", None), ("5,25", Decimal("5.25")), ("0", 0), ("14", 14)])
def test_the_word_is_kept_with_the_hours_or_without(evening, typed, kept):
    assert tap(evening, state="tired", hours_slept=typed).status_code == 302
    row = TirednessReport.objects.get()
    assert (row.vet, row.word, row.hours_slept) == (evening.anand, "tired", kept)


@pytest.mark.parametrize("typed", ["14.25", "5.1", "-1", "six"])
def test_other_hours_are_refused_in_words_and_stay_on_the_page(evening, typed):
    answer = tap(evening, state="ok", hours_slept=typed)
    page = answer.content.decode()
    assert answer.status_code == 400
    assert 'role="alert"' in page
    assert f'name="hours_slept" inputmode="decimal" autocomplete="off" value="{typed}"' in page
    assert not TirednessReport.objects.exists()


def test_the_vet_sees_what_the_desk_sees_and_that_their_word_stands_above_it(evening):
    tap(evening, state="tired")
    browser = Client()
    browser.force_login(evening.anand.member)
    page = browser.get("/mine/").content.decode()
    assert "Tiredness: " in page
    assert "The vet says: tired." in page
    assert "What you say yourself stands above it." in page
