"""Pages of rota and rest say which rules they are judged by, and how the practice reads daily rest."""

import pytest

from rotas.models import Role
from tests.pages.site import at


@pytest.mark.parametrize("page", ["/rota/", "/rota/month/", "/rest/", "/rest/rules/"])
@pytest.mark.parametrize(
    ("reading", "words"),
    [
        ("gap", "daily rest of 11 h is read between duties: unbroken before each start"),
        ("window24", "daily rest of 11 h is read in 24 hours: unbroken inside the 24 hours"),
    ],
)
def test_the_rota_says_how_daily_rest_is_read(evening, page, reading, words):
    practice = evening.world.practice
    practice.daily_rest_reading = reading
    practice.save(update_fields=["daily_rest_reading"])
    shown = at(evening.member(Role.MANAGER)).get(page).content.decode()
    assert words in shown
    assert "stand-by at home counts as far as it was worked (SIMAP, C-303/98;" in shown
