"""A draft is begun, filled by hand and by the builder, and holds what it is told."""

from datetime import timedelta

import pytest

from rotas.errors import BadInput, NotAllowed, NotFound
from rotas.models import AuditLine, CoverNeed, DraftDuty, OutboxMessage, Rota
from rotas.rota_errors import NotADraft
from rotas.services.building import LOST_AFTER, ask_build, build_asked, builds_lost, give_up
from rotas.services.cover import end_cover, start_with_common_cover
from rotas.services.rotas import broken_rules, build_draft, draft_rota, move_duty, withdraw_rota
from rotas.services.wishes import keep_off
from tests.factories import a_manager, a_practice, a_shift
from tests.rotas.services.rota.world import DAY, EARLIER, MONDAY, Nights

SECONDS = 2.0


def test_draft_has_every_duty_of_the_cover_and_nobody_on_it(world: Nights) -> None:
    rota = world.draft()
    duties = list(rota.duties.in_order())
    assert [duty.day for duty in duties] == [MONDAY + number * DAY for number in range(7)]
    assert {(duty.role, duty.vet) for duty in duties} == {("first", None)}
    assert duties[0].ends_at - duties[0].starts_at == timedelta(hours=14)
    assert AuditLine.objects.filter(verb="rota_drafted").count() == 1
    assert not OutboxMessage.objects.exists()


def test_practice_starts_with_the_common_cover_once(db: None) -> None:
    practice = a_practice()
    manager = a_manager(practice)
    for _ in range(2):
        start_with_common_cover(practice=practice, actor=manager, now=EARLIER)
    needs = CoverNeed.objects.for_practice(practice)
    assert sorted(need.role for need in needs) == ["day", *["first"] * 3, *["second"] * 3]
    draft = draft_rota(
        practice=practice, first_day=MONDAY, last_day=MONDAY + 6 * DAY, actor=manager, now=EARLIER
    )
    per_role = [draft.duties.filter(role=role).count() for role in ("first", "second", "day")]
    assert per_role == [7, 7, 10]


def test_cover_that_was_ended_is_not_begun_again(world: Nights) -> None:
    end_cover(need_id=world.need.pk, actor=world.manager, now=EARLIER)
    assert start_with_common_cover(practice=world.practice, actor=world.manager, now=EARLIER) == []
    assert world.draft().duties.count() == 0


@pytest.mark.parametrize(("ahead", "field"), [(-1, "last_day"), (400, "last_day")])
def test_draft_of_impossible_days_is_refused(world: Nights, ahead: int, field: str) -> None:
    with pytest.raises(BadInput) as refused:
        world.draft(days=ahead + 1)
    assert refused.value.facts["field"] == field
    assert not Rota.objects.exists()


def test_only_a_manager_drafts_and_moves(world: Nights) -> None:
    rota = world.draft()
    vet = world.vets[0]
    with pytest.raises(NotAllowed):
        draft_rota(practice=world.practice, first_day=MONDAY, last_day=MONDAY, actor=vet.member, now=EARLIER)
    with pytest.raises(NotAllowed):
        move_duty(draft_duty=rota.duties.first(), vet=vet, actor=vet.member, now=EARLIER)
    with pytest.raises(NotFound):
        move_duty(draft_duty=rota.duties.first(), vet=vet, actor=a_manager(a_practice()), now=EARLIER)
    assert not rota.duties.filter(vet__isnull=False).exists()


def test_move_says_at_once_which_rule_it_breaks_and_the_draft_may_hold_it(world: Nights) -> None:
    keep_off(vet=world.vets[0], weekday=1, role="first", actor=world.manager, now=EARLIER)
    rota = world.draft()
    monday, tuesday = rota.duties.in_order()[:2]
    _, broken = move_duty(draft_duty=monday, vet=world.vets[0], actor=world.manager, now=EARLIER)
    assert [each for each in broken if each.rule == "available"] == []
    moved, broken = move_duty(draft_duty=tuesday, vet=world.vets[0], actor=world.manager, now=EARLIER)
    assert [each.rule for each in broken] == ["available"]
    assert (moved.vet, moved.by_hand) == (world.vets[0], True)
    assert "available" in {each.rule for each in broken_rules(rota, EARLIER)}
    line = AuditLine.objects.filter(verb="draft_moved").latest("pk")
    assert line.after["broken"] == [broken[0].sentence]


def test_same_move_again_changes_nothing_and_nobody_takes_it_off(world: Nights) -> None:
    duty = world.draft().duties.in_order()[0]
    for _ in range(2):
        move_duty(draft_duty=duty, vet=world.vets[0], actor=world.manager, now=EARLIER)
    assert AuditLine.objects.filter(verb="draft_moved").count() == 1
    moved, _ = move_duty(draft_duty=duty, vet=None, actor=world.manager, now=EARLIER)
    assert (moved.vet, moved.by_hand, moved.gap_reason) == (None, False, "Taken off by hand.")


def test_vet_of_another_practice_or_gone_cannot_be_put_on(world: Nights) -> None:
    duty = world.draft().duties.in_order()[0]
    stranger = Nights(1, "Theirs").vets[0]
    world.vets[0].active = False
    world.vets[0].save()
    for vet in (stranger, world.vets[0]):
        with pytest.raises(NotFound):
            move_duty(draft_duty=duty, vet=vet, actor=world.manager, now=EARLIER)


def test_builder_fills_the_draft_and_leaves_what_was_placed_by_hand(world: Nights) -> None:
    rota = world.draft(14)
    by_hand = rota.duties.in_order()[2]
    move_duty(draft_duty=by_hand, vet=world.vets[3], actor=world.manager, now=EARLIER)
    built = build_draft(rota=rota, seconds=SECONDS, actor=world.manager, now=EARLIER)
    assert built.build_state == "done", built.answer
    assert rota.duties.filter(vet=None).count() == 0
    by_hand.refresh_from_db()
    assert by_hand.vet == world.vets[3]
    assert broken_rules(built, EARLIER) == ()
    counts = sorted(rota.duties.filter(vet=vet).count() for vet in world.vets)
    assert counts[-1] - counts[0] <= 1
    assert built.answer["gaps"] == []


def test_what_is_on_the_rota_already_stands_in_the_draft(world: Nights) -> None:
    start = world.published().duties.in_order()[0].starts_at + 7 * DAY
    shift = a_shift(world.vets[1], start, 14)
    rota = world.draft(7, MONDAY + 7 * DAY)
    first = rota.duties.in_order()[0]
    assert (first.vet, first.shift) == (world.vets[1], shift)
    build_draft(rota=rota, seconds=SECONDS, actor=world.manager, now=EARLIER)
    first.refresh_from_db()
    assert (first.vet, first.shift) == (world.vets[1], shift)


def test_gap_is_kept_with_its_reason_and_ways_out(world: Nights) -> None:
    for vet in world.vets:
        keep_off(vet=vet, weekday=2, actor=world.manager, now=EARLIER)
    rota = world.draft()
    built = build_draft(rota=rota, seconds=SECONDS, actor=world.manager, now=EARLIER)
    (gap,) = rota.duties.filter(vet=None)
    assert gap.day == MONDAY + 2 * DAY
    assert gap.gap_reason
    assert gap.ways_out
    assert [each["day"] for each in built.answer["gaps"]] == [gap.day.isoformat()]


def test_asking_twice_is_one_build_and_a_late_or_second_worker_changes_nothing(world: Nights) -> None:
    rota = world.draft()
    first = ask_build(rota=rota, actor=world.manager, now=EARLIER, seconds=SECONDS)
    again = ask_build(rota=rota, actor=world.manager, now=EARLIER, seconds=SECONDS)
    assert (first.build_number, again.build_number) == (1, 1)
    assert not build_asked(rota_id=rota.pk, build_number=7, now=EARLIER)
    assert build_asked(rota_id=rota.pk, build_number=1, now=EARLIER)
    before = list(DraftDuty.objects.values_list("pk", "vet"))
    assert not build_asked(rota_id=rota.pk, build_number=1, now=EARLIER)
    assert list(DraftDuty.objects.values_list("pk", "vet")) == before
    assert AuditLine.objects.filter(verb="rota_built").count() == 1


def test_lost_build_is_sent_again_and_a_build_of_a_discarded_draft_is_dropped(world: Nights) -> None:
    rota = ask_build(rota=world.draft(), actor=world.manager, now=EARLIER, seconds=SECONDS)
    assert builds_lost(now=EARLIER + LOST_AFTER) == []
    later = EARLIER + LOST_AFTER + timedelta(seconds=1)
    assert builds_lost(now=later) == [(rota.pk, 1)]
    assert builds_lost(now=later) == []
    withdraw_rota(rota=rota, actor=world.manager, now=later)
    assert not build_asked(rota_id=rota.pk, build_number=1, now=later)
    assert not give_up(rota_id=rota.pk, build_number=1, sentence="Too long.", now=later)


def test_build_given_up_says_why_and_can_be_asked_for_again(world: Nights) -> None:
    rota = ask_build(rota=world.draft(), actor=world.manager, now=EARLIER, seconds=SECONDS)
    assert give_up(rota_id=rota.pk, build_number=1, sentence="Too long.", now=EARLIER)
    rota.refresh_from_db()
    assert (rota.build_state, rota.answer["sentence"]) == ("failed", "Too long.")
    assert ask_build(rota=rota, actor=world.manager, now=EARLIER).build_number == 2


@pytest.mark.parametrize("seconds", [0, -1, 240.5])
def test_builder_takes_no_more_seconds_than_its_task_may(world: Nights, seconds: float) -> None:
    with pytest.raises(BadInput):
        ask_build(rota=world.draft(), actor=world.manager, now=EARLIER, seconds=seconds)


def test_published_rota_is_no_draft(world: Nights) -> None:
    rota = world.published()
    with pytest.raises(NotADraft):
        move_duty(draft_duty=rota.duties.first(), vet=None, actor=world.manager, now=EARLIER)
    with pytest.raises(NotADraft):
        ask_build(rota=rota, actor=world.manager, now=EARLIER)
