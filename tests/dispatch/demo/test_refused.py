"""The demo's passwords are public, so it is loaded into no database that holds a real practice."""

import pytest
from django.core.management import CommandError, call_command

from rotas.models import Member, Practice
from tests.factories import a_practice

pytestmark = pytest.mark.django_db


def test_the_demo_is_not_loaded_beside_a_real_practice():
    real = a_practice()
    with pytest.raises(CommandError, match="holds other practices"):
        call_command("load_demo")
    assert list(Practice.objects.all()) == [real]
    assert not Member.objects.exists()
