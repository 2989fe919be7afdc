"""The desk of the loaded demo, and what the vets on it do."""

from collections import Counter
from datetime import datetime, timedelta

from cases.models import CallState
from dispatch.demo.load.demo import Loaded
from dispatch.desk.shapes import Desk, Do
from dispatch.models import Offer, OfferState
from dispatch.services.desk import desk
from dispatch.services.planning import plan_practice
from rotas.models import Practice, RestException, Shift

SLEEPING = range(0, 6)  # local hours in which most vets on call have no lawful job left to take


def planned(now: datetime) -> Desk:
    """Make one plan and return the desk."""
    practice = Practice.objects.get(slug="fallowdene")
    plan_practice(practice.pk, now)
    return desk(practice, now)


def states(board: Desk) -> Counter[str]:
    """Count what the vets on duty do, by the first words that the desk has for it."""
    words = [vet.state_words for vet in board.vets if vet.on_duty]
    return Counter("on farm" if word.startswith("at ") and "left" in word else word[:10] for word in words)


def assert_desk_is_alive(loaded: Loaded, now: datetime) -> None:
    """Check that whoever opens the desk after the load finds an evening on which things happen."""
    board = planned(now)
    assert loaded.calls == 12
    open_calls = [call for call in board.calls if call.state != CallState.DEFERRED]
    assert len(open_calls) >= 3
    assert states(board)["on farm"] == 1
    assert states(board)["on the way"] == 1
    assert board.action.do is not Do.NOTHING
    assert board.action.sentence
    ends = [shift.ends_at for shift in Shift.objects.at(now)]
    assert len(ends) >= 3
    assert min(ends) >= now + timedelta(hours=4)
    asked = Offer.objects.filter(state=OfferState.OPEN)
    if Practice.objects.get().local(now).hour not in SLEEPING:
        assert [offer.call.complaint for offer in asked] == ["dystocia_cattle"]
        assert not RestException.objects.exists()
