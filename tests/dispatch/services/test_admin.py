"""Staff may look at offers and plans, and change nothing."""

import pytest
from django.urls import reverse

from dispatch.models import Offer
from dispatch.services.offers import put_offer
from tests.dispatch.services.evening import NOW, Evening
from tests.dispatch.services.test_planning import plan_of


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("model", ["offer", "plan", "planturn"])
def test_rows_can_be_looked_at_but_not_changed(client, model):
    evening = Evening()
    put_offer(call_id=evening.call().pk, vet_id=evening.anand.pk, actor=evening.reception, now=NOW)
    plan_of(evening)
    evening.manager.is_staff = evening.manager.is_superuser = True
    evening.manager.save()
    client.force_login(evening.manager, backend="django.contrib.auth.backends.ModelBackend")
    listed = client.get(reverse(f"admin:dispatch_{model}_changelist"))
    assert listed.status_code == 200
    assert client.get(reverse(f"admin:dispatch_{model}_add")).status_code == 403
    row = Offer.objects.get()
    for page in ("change", "delete"):
        answer = client.post(reverse(f"admin:dispatch_offer_{page}", args=[row.pk]), {"state": "accepted"})
        assert answer.status_code == 403
    row.refresh_from_db()
    assert row.state == "open"
