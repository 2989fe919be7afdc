"""Pens, arrivals, tags, calvings and treatments put right on the pages: what is said, and what stays held."""

from collections.abc import Iterator
from datetime import datetime, timedelta

import pytest
from django.http import HttpResponse

from cases.models import Animal, Commodity, Group, GroupStay, NotGiven, OtherHold, Treatment
from cases.services.calving import record_calving
from cases.services.pens import move_animals
from cases.services.selling import may_be_sold, sales_of
from rotas.models import Role
from tests.factories import a_farm, a_group, a_medicine, an_animal
from tests.pages.forms import alerts_of
from tests.pages.good_values import MINUTE, good_values
from tests.pages.site import Evening, at, rows

HOURS = (0, 6, 11, 13, 24, 48, 24 * 5, 24 * 40)


def held(evening: Evening, step: str = "") -> str:
    return f"/farms/{evening.world.farm.pk}/held/{step}"


def told(answer: HttpResponse) -> str:
    """Return the sentence that the next page says."""
    assert answer.status_code == 302, alerts_of(answer.content.decode())
    return str(next(iter(answer.wsgi_request._messages)))


def morning(evening: Evening) -> datetime:
    local = evening.world.practice.local(evening.world.now) + timedelta(days=1)
    return local.replace(hour=9, minute=0)


def yard(evening: Evening) -> tuple[Group, Animal]:
    """Let a held cow stand with another one in a pen in which not every tag is read."""
    world = evening.world
    other, pen = an_animal(world.farm), a_group(world.farm, name="Straw yard", species="cattle", head=2)
    move_animals(
        animal_ids=[world.cow.pk, other.pk], group_id=pen.pk, actor=world.vet.member, now=world.now,
        moved_at=world.now - timedelta(days=30),
    )  # fmt: skip
    return pen, other


def test_a_pen_is_called_known_by_a_vets_signature_only_and_from_the_morning(evening: Evening) -> None:
    pen, other = yard(evening)
    address, said = f"/pens/{pen.pk}/identity/", {"identified": "yes", "head": "2"}
    for role in (Role.RECEPTION, Role.VET):
        answer = at(evening.member(role)).post(address, said)
        assert answer.status_code in (409, 422)
        assert "sign it as the vet" in alerts_of(answer.content.decode())[0]
        assert "open" in answer.content.decode().split(f'id="identity-{pen.pk}"')[1][:6]
    desk = at(evening.member(Role.RECEPTION)).post(address, said | {"signs_shorter": "yes"})
    assert desk.status_code == 403
    assert may_be_sold(other, Commodity.MEAT, morning(evening)).answer == "no"
    sentence = told(at(evening.member(Role.VET)).post(address, said | {"signs_shorter": "yes"}))
    assert "Straw yard, 2 head, every animal is known" in sentence
    just_before = morning(evening) - timedelta(minutes=1)
    assert may_be_sold(other, Commodity.MEAT, just_before).answer == "no"
    assert may_be_sold(other, Commodity.MEAT, morning(evening)).answer == "yes"


def test_a_pen_called_unknown_holds_at_once(evening: Evening) -> None:
    pen, other = yard(evening)
    Group.objects.filter(pk=pen.pk).update(all_identified=True)
    assert may_be_sold(other, Commodity.MEAT, evening.world.now).allowed
    answer = at(evening.member(Role.RECEPTION)).post(
        f"/pens/{pen.pk}/identity/", {"identified": "no", "head": "2"}
    )
    assert "not every animal is known, so all wait" in told(answer)
    assert not may_be_sold(other, Commodity.MEAT, evening.world.now).allowed


def test_an_unknown_animal_that_joined_holds_the_pen_without_a_date(evening: Evening) -> None:
    world = evening.world
    answer = at(evening.member(Role.RECEPTION)).post(
        f"/pens/{world.pen.pk}/unknown/", {"head": "1", "reason": "through the hedge"}
    )
    assert "41 head now" in told(answer)
    assert "now out without a date yet" in told(answer)
    assert not may_be_sold(world.pen, Commodity.MEAT, world.now + timedelta(days=300)).allowed


def test_an_animal_that_came_is_held_whatever_its_papers_say(evening: Evening) -> None:
    said = good_values(evening, held(evening, "arrived/"))
    answer = at(evening.member(Role.RECEPTION)).post(held(evening, "arrived/"), said)
    assert "milk of 302 (UK 300003 000002) now out without a date yet" in told(answer).replace("Milk", "milk")
    cow = Animal.objects.get(tag="UK 300003 000002")
    assert "dry cow tubes in January" in cow.other_holds.filter(commodity="milk").get().reason
    page = at(evening.member(Role.VET)).get(held(evening)).content.decode()
    assert "dry cow tubes in January" in page
    again = at(evening.member(Role.RECEPTION)).post(held(evening, "arrived/"), said | {"in_milk": ""})
    assert again.status_code == 409
    assert 'value="a dealer"' in again.content.decode()


def test_two_tags_of_one_animal_are_held_together(evening: Evening) -> None:
    other = an_animal(evening.world.farm)
    assert may_be_sold(other, Commodity.MEAT, evening.world.now).allowed
    said = {"animal": other.pk, "other": evening.world.cow.pk, "reason": "her lost tag was found"}
    sentence = told(at(evening.member(Role.RECEPTION)).post(held(evening, "same/"), said))
    assert f"of {other} now out" in sentence
    assert not may_be_sold(other, Commodity.MEAT, evening.world.now).allowed
    twice = at(evening.member(Role.RECEPTION)).post(held(evening, "same/"), said)
    assert twice.status_code == 409


def test_an_animal_of_another_farm_is_not_joined_here(evening: Evening) -> None:
    world = evening.world
    away = an_animal(a_farm(world.practice, client=world.client, name="Far Skelling"))
    said = {"animal": world.cow.pk, "other": away.pk, "reason": "x"}
    answer = at(evening.member(Role.RECEPTION)).post(held(evening, "same/"), said)
    assert answer.status_code == 400
    assert "belongs to Far Skelling" in alerts_of(answer.content.decode())[0]


def dry(evening: Evening, cow: Animal) -> Treatment:
    """Let a cow have been given a dry-cow tube fifty days ago."""
    world = evening.world
    tube = a_medicine(world.practice, route="intramammary", milk_hours=96)
    tube.periods.filter(commodity="milk").update(from_calving=True, min_dry_days=42)
    given = world.now - timedelta(days=50)
    return world.treatment(
        evening.visit, medicine_id=tube.pk, route="intramammary", animal_id=cow.pk, first_given_at=given
    )


def test_a_calving_made_earlier_waits_for_a_vet_and_the_morning(evening: Evening) -> None:
    world = evening.world
    cow, desk = an_animal(world.farm), at(evening.member(Role.RECEPTION))
    dry(evening, cow)
    calving = record_calving(
        animal_id=cow.pk, actor=world.vet.member, now=world.now, calved_at=world.now - timedelta(days=2)
    )
    sooner = world.practice.local(world.now - timedelta(days=6)).strftime(MINUTE)
    said = {"calving": calving.pk, "what": "time", "calved_at": sooner}
    answer = desk.post(held(evening, "calving-wrong/"), said)
    assert answer.status_code in (409, 422)
    assert f'value="{sooner}"' in answer.content.decode()
    sentence = told(
        at(evening.member(Role.VET)).post(held(evening, "calving-wrong/"), said | {"signs_shorter": "yes"})
    )
    assert "What was signed counts from Sun 15 Mar 2026 09:00" in sentence
    assert not may_be_sold(cow, Commodity.MILK, morning(evening) - timedelta(minutes=1)).allowed


def test_a_calving_of_another_cow_goes_to_her_and_both_are_named(evening: Evening) -> None:
    right = an_animal(evening.world.farm)
    said = {"calving": evening.calving.pk, "what": "other", "animal": right.pk, "signs_shorter": "yes"}
    sentence = told(at(evening.member(Role.VET)).post(held(evening, "calving-wrong/"), said))
    assert f"{right} calved, and {evening.calving.animal} did not." in sentence
    assert right.calvings.get().calved_at == evening.calving.calved_at
    assert not may_be_sold(right, Commodity.MILK, evening.world.now).allowed


def test_another_cow_beside_another_time_is_asked_about(evening: Evening) -> None:
    before = rows()
    said = {"calving": evening.calving.pk, "what": "never", "animal": evening.world.cow.pk}
    answer = at(evening.member(Role.VET)).post(held(evening, "calving-wrong/"), said)
    assert answer.status_code == 400
    assert "say that it was another cow" in alerts_of(answer.content.decode())[0]
    assert rows() == before


def test_an_animal_that_has_not_left_is_back_with_what_holds_it(evening: Evening) -> None:
    said = {"animal": evening.gone.pk, "reason": "it was the other one"}
    answer = at(evening.member(Role.RECEPTION)).post(held(evening, "back/"), said)
    assert "has not left" in told(answer)
    assert Animal.objects.get(pk=evening.gone.pk).ended_at is None


def test_a_poisoned_animal_is_held_until_a_vet_signs(evening: Evening) -> None:
    cow = an_animal(evening.world.farm)
    said = {"animal": cow.pk, "commodity": "meat", "cause": "poison", "reason": "old paint"}
    answer = at(evening.member(Role.RECEPTION)).post(held(evening, "hold/"), said)
    assert f"Meat and offal of {cow} now out without a date yet." in told(answer)
    assert OtherHold.objects.get(animal=cow).ends_at is None


def test_a_treatment_never_given_holds_until_the_morning_and_the_page_says_so(evening: Evening) -> None:
    treatment, cow = evening.finished.treatments.get(), an_animal(evening.world.farm)
    Treatment.objects.filter(pk=treatment.pk).update(animal=cow)
    vet, address = at(evening.member(Role.VET)), f"/treatments/{treatment.pk}/cancel/"
    page = vet.get(f"/visits/{evening.finished.pk}/").content.decode()
    assert "held until the next morning, when the farm is told" in page
    empty = vet.post(address, {"reason": " "})
    assert empty.status_code == 400
    assert not NotGiven.objects.filter(treatment=treatment).exists()
    sentence = told(vet.post(address, {"reason": "written for the wrong cow"}))
    assert f"Milk of {cow} now out until" in sentence
    assert "What was signed counts from Sun 15 Mar 2026 09:00" in sentence
    assert not may_be_sold(cow, Commodity.MILK, morning(evening) - timedelta(minutes=1)).allowed
    assert may_be_sold(cow, Commodity.MILK, morning(evening)).allowed
    shown = vet.get(f"/visits/{evening.finished.pk}/").content.decode()
    assert "Never given: a vet has signed" in shown
    assert "This one holds until Sun 15 Mar 09:00" in shown
    again = vet.post(address, {"reason": "once more"})
    assert again.status_code == 409


def test_who_is_no_vet_is_not_asked_to_sign_that_nothing_was_given(evening: Evening) -> None:
    page = at(evening.member(Role.RECEPTION)).get(f"/visits/{evening.finished.pk}/").content.decode()
    assert "Sign that it was never given" not in page


def test_a_correction_that_shortens_is_refused_unsigned_and_counts_from_the_morning(evening: Evening) -> None:
    world, cow = evening.world, an_animal(evening.world.farm)
    old = world.treatment(evening.visit, animal_id=cow.pk)
    vet = at(evening.member(Role.VET))
    page = vet.get(f"/visits/{evening.visit.pk}/").content.decode()
    assert "an earlier one needs your signature and counts from the next morning" in page
    sooner = world.practice.local(world.now - timedelta(days=2)).strftime(MINUTE)
    said = {
        "corrects": old.pk, "medicine": world.medicine.pk, "animal": cow.pk, "route": "intramuscular",
        "dose_amount": "20", "dose_unit": "ml", "first_given_at": sooner, "last_given_at": sooner,
    }  # fmt: skip
    address = f"/visits/{evening.visit.pk}/treatments/"
    first = vet.post(address, said)
    seen = first.context["seen"] if first.context and "seen" in first.context else ""
    assert vet.post(address, said | {"seen": seen}).status_code in (409, 422)
    signed = vet.post(address, said | {"seen": seen, "signs_shorter": "yes"})
    assert signed.status_code == 302, alerts_of(signed.content.decode())
    assert not may_be_sold(cow, Commodity.MILK, morning(evening) - timedelta(minutes=1)).allowed
    shown = vet.get(f"/visits/{evening.visit.pk}/").content.decode()
    assert "This one holds until Sun 15 Mar 09:00; from then on it gives way" in shown


def answers(evening: Evening) -> Iterator[tuple[str, bool]]:
    """Yield for everything on the farm, in the hours to come, whether it may be sold."""
    farm, now = evening.world.farm, evening.world.now
    subjects = [*Animal.objects.filter(location=farm).order_by("pk"), *Group.objects.filter(location=farm)]
    for subject in subjects:
        for hours in HOURS:
            for sale in sales_of(subject, now + timedelta(hours=hours)):
                yield f"{type(subject).__name__} {subject.pk} {sale.commodity} +{hours} h", sale.allowed


@pytest.mark.parametrize("role", [Role.RECEPTION, Role.VET])
@pytest.mark.parametrize("what", ["time", "never", "other"])
def test_no_calving_put_right_unsigned_lets_anything_go_sooner(
    evening: Evening, role: str, what: str
) -> None:
    world, cow = evening.world, an_animal(evening.world.farm)
    dry(evening, cow)
    sooner = world.practice.local(world.now - timedelta(days=9)).strftime(MINUTE) if what == "time" else ""
    three_days = world.now - timedelta(days=3)
    hers = record_calving(animal_id=cow.pk, actor=world.vet.member, now=world.now, calved_at=three_days)
    before = dict(answers(evening))
    for calving in (evening.calving, hers):
        said = {"calving": calving.pk, "what": what, "calved_at": sooner}
        said |= {"animal": an_animal(world.farm).pk} if what == "other" else {}
        at(evening.member(role)).post(held(evening, "calving-wrong/"), said)
    after = dict(answers(evening))
    assert [name for name, allowed in before.items() if not allowed and after[name]] == []


@pytest.mark.parametrize("role", [Role.RECEPTION, Role.VET])
def test_no_form_of_the_herd_lets_anything_go_sooner_without_a_signature(evening: Evening, role: str) -> None:
    pen, other = yard(evening)
    world, before = evening.world, dict(answers(evening))
    browser = at(evening.member(role))
    browser.post(f"/pens/{pen.pk}/identity/", {"identified": "yes", "head": "2"})
    browser.post(f"/pens/{pen.pk}/unknown/", {"head": "1", "reason": "x"})
    for step in ("arrived", "hold", "same"):
        said = good_values(evening, held(evening, f"{step}/"))
        assert browser.post(held(evening, f"{step}/"), said).status_code == 302, step
    browser.post(held(evening, "move/"), {"animal": other.pk, "moved_at": good_now(evening)})
    browser.post(f"/treatments/{evening.finished.treatments.get().pk}/cancel/", {"reason": ""})
    assert GroupStay.objects.get(animal=other).until_at is None
    after = dict(answers(evening))
    assert [name for name, allowed in before.items() if not allowed and after[name]] == []
    assert not may_be_sold(world.cow, Commodity.MILK, world.now).allowed


def good_now(evening: Evening) -> str:
    return evening.world.practice.local(evening.world.now).strftime(MINUTE)
