"""The admin shows a practice its own rows and changes none."""

import pytest
from django.contrib import admin
from django.urls import reverse

from tests import factories
from tests.factories import NOW

pytestmark = pytest.mark.django_db

OURS = [model for model in admin.site._registry if model._meta.app_label in ("rotas", "cases")]


@pytest.fixture
def practice():
    return factories.a_practice()


@pytest.fixture
def staff(practice, client):
    member = factories.a_manager(practice, is_staff=True)
    client.force_login(member, backend="django.contrib.auth.backends.ModelBackend")
    return client


def place(model, action, *args):
    return reverse(f"admin:{model._meta.app_label}_{model._meta.model_name}_{action}", args=args)


def test_every_table_of_a_practice_is_on_show():
    assert {"Practice", "Member", "Shift", "OutboxMessage", "AuditLine", "Call", "Treatment"} <= {
        model.__name__ for model in OURS
    }


@pytest.mark.parametrize("model", OURS, ids=lambda model: model.__name__)
def test_a_list_opens_and_nothing_can_be_added(staff, model):
    assert staff.get(place(model, "changelist")).status_code == 200
    assert staff.post(place(model, "add"), {}).status_code == 403


def test_a_row_shows_and_is_not_changed_or_deleted(staff, practice):
    farm = factories.a_farm(practice)
    assert farm.name in staff.get(place(type(farm), "change", farm.pk)).content.decode()
    assert staff.post(place(type(farm), "change", farm.pk), {"name": "x"}).status_code == 403
    assert staff.post(place(type(farm), "delete", farm.pk), {"post": "yes"}).status_code == 403
    farm.refresh_from_db()
    assert farm.name != "x"


def test_another_practice_s_row_is_not_there(staff):
    theirs = factories.a_shift(factories.a_vet(factories.a_practice()), NOW)
    assert staff.get(place(type(theirs), "change", theirs.pk)).status_code == 302
    assert str(theirs) not in staff.get(place(type(theirs), "changelist")).content.decode()


def test_no_password_hash_is_shown(staff, practice):
    member = factories.reception(practice)
    page = staff.get(place(type(member), "change", member.pk)).content.decode()
    assert member.password not in page


def test_members_who_are_no_staff_see_nothing(client, practice):
    client.force_login(factories.a_manager(practice), backend="django.contrib.auth.backends.ModelBackend")
    for model in OURS:
        assert client.get(place(model, "changelist")).status_code == 302
