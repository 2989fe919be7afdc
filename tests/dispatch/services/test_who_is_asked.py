"""Who is asked, and when: the second of two vets, and vets whose duty has not begun."""

from datetime import timedelta

import pytest

from dispatch.errors import CannotGo
from dispatch.models import Offer, OfferState
from dispatch.services.offers import decline_offer, put_offer
from rotas.models import Kit, KitPlace, KitState, ShiftRole
from tests.dispatch.services.evening import CALVING_KIT, NOW, Evening, minutes
from tests.dispatch.services.test_planning import plan_of

JOB_FOR_TWO = {"complaint": "caesarean_cattle", "answers": {"vet_on_farm": "no"}, "vets_needed": 2}
LIGHT_CAR = tuple(kind for kind in CALVING_KIT if kind != "surgical_kit_cattle")


@pytest.mark.django_db
def test_second_vet_need_not_bring_what_the_first_one_brings():
    evening = Evening()
    Kit.objects.create(
        practice=evening.practice,
        kind="surgical_kit_cattle",
        place=KitPlace.BASE,
        state=KitState.STERILISING,
        ready_at=NOW + timedelta(hours=11),
    )
    helper = evening.vet("Ceinwen", ShiftRole.SECOND, kit=LIGHT_CAR)
    call = evening.call(**JOB_FOR_TWO)
    with pytest.raises(CannotGo, match="Home by"):
        put_offer(call_id=call.pk, vet_id=helper.pk, actor=evening.reception, now=NOW)

    put_offer(call_id=call.pk, vet_id=evening.anand.pk, actor=evening.reception, now=NOW)
    offer = put_offer(call_id=call.pk, vet_id=helper.pk, actor=evening.reception, now=NOW)
    assert (offer.place, offer.state) == (2, OfferState.OPEN)


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize(("begins_in_min", "asked"), [(21, False), (20, True)])
def test_nobody_is_rung_long_before_their_duty_begins(begins_in_min, asked):
    evening = Evening()
    evening.brockley.active = False
    evening.brockley.save()
    evening.vet("Ceinwen", ShiftRole.FIRST, start=NOW + minutes(begins_in_min) + timedelta(minutes=1))
    call = evening.call()
    offer = put_offer(call_id=call.pk, vet_id=evening.anand.pk, actor=evening.reception, now=NOW)
    plan_of(evening)
    decline_offer(offer_id=offer.pk, actor=evening.anand.member, now=NOW + minutes(1), reason="too_far")
    assert Offer.objects.filter(call=call, vet__member__name="Ceinwen").exists() is asked
