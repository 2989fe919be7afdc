"""A recheck closes with a result: tries, the farm's answers, and who is told when it cannot wait."""

from datetime import timedelta

import pytest

from cases.followups.codes import code_of
from cases.models import ClientPhone, RecheckState
from cases.services.booking import cancel_booking
from cases.services.recheck_animals import say_animal
from cases.services.recheck_answers import farmer_answers
from cases.services.recheck_attempts import record_attempt
from cases.services.recheck_booking import book_again
from cases.services.recheck_links import opened, token_of
from cases.services.recheck_replies import answer_by_text
from cases.services.rechecks import animal_ended, end_recheck, record_result
from rotas.errors import AlreadyDone, BadInput, DeskError, FromTheFuture, NotAllowed
from rotas.models import AuditLine, OutboxMessage
from rotas.replies import Reply
from tests import factories
from tests.cases.services.evening import Evening, after
from tests.factories import NOW

NUMBER = "+441632960111"
pytestmark = pytest.mark.django_db


class Case(Evening):
    """A calving that is finished, with a duty vet on the rota besides the vet who was there."""

    def __init__(self, complaint="dystocia_cattle"):
        super().__init__(complaint)
        visit = self.accept()
        self.report(visit, "on_farm", 30)
        self.visit = self.report(visit, "finished", 90)
        ClientPhone.objects.create(practice=self.practice, client=self.farm.client, number=NUMBER)
        for vet in (self.vet, self.other):
            vet.member.email = f"vet{vet.pk}@practice.example"
            vet.member.save()
        factories.a_shift(self.other, NOW, 24 * 7)

    def step(self, number):
        return self.visit.rechecks.get(step=number)

    def tried(self, recheck, at=800, outcome="no_answer"):
        record_attempt(recheck_id=recheck.pk, actor=self.desk, now=after(at), outcome=outcome)
        recheck.refresh_from_db()
        return recheck

    def answer(self, fine, *, step=1, at=815, words="", **values):
        values = {"how": "text", "at": after(at), "now": after(at), "key": ""} | values
        return farmer_answers(recheck=self.step(step), fine=fine, words=words, **values)

    def text(self, words, *, number=NUMBER, at=815, key="m1"):
        return answer_by_text(Reply(self.practice, number, words, after(at), key, after(at)))

    def urgent(self):
        return {mail.address: mail.body for mail in OutboxMessage.objects.filter(urgent=True)}


def test_one_failed_try_closes_and_escalates_nothing_the_second_tells_the_duty_vet_and_the_desk():
    case = Case()
    recheck = case.tried(case.step(2), outcome="line_busy")
    assert (recheck.state, recheck.escalated_at) == (RecheckState.DUE, None)
    assert case.urgent() == {}
    recheck = case.tried(recheck, at=830)
    assert (recheck.state, recheck.escalated_at, recheck.escalated_to) == ("due", after(830), case.other)
    assert set(case.urgent()) == {case.practice.email, case.other.member.email}
    assert "0111" in case.urgent()[case.practice.email].replace(" ", "")
    case.tried(recheck, at=840)
    assert len(case.urgent()) == 2, "told once, not again with every try"
    assert recheck.attempts.count() == 3


def test_a_try_is_none_without_its_outcome_and_none_after_the_end():
    case = Case()
    with pytest.raises(BadInput):
        record_attempt(recheck_id=case.step(2).pk, actor=case.desk, now=NOW, outcome="reached")
    record_result(recheck_id=case.step(2).pk, actor=case.desk, now=after(800), result="eating")
    with pytest.raises(AlreadyDone):
        case.tried(case.step(2))
    assert not case.step(2).attempts.exists()


def test_fine_closes_and_says_who_said_it():
    case = Case()
    case.answer(True, words="up and eating", said_by="the daughter")
    recheck = case.step(1)
    assert (recheck.state, recheck.done_at, recheck.done_by) == (RecheckState.DONE, after(815), None)
    assert recheck.result == "Fine, said the daughter by text message: up and eating."


def test_not_fine_stays_open_and_tells_the_duty_vet_at_once_in_the_night():
    case = Case()
    case.answer(False, words="down again", at=300)  # 02:00
    recheck = case.step(1)
    assert (recheck.state, recheck.escalated_to) == (RecheckState.DUE, case.other)
    assert "NOT FINE" in recheck.escalated_why
    assert "down again" in case.urgent()[case.other.member.email]
    assert all(mail.not_before == after(300) for mail in OutboxMessage.objects.filter(urgent=True))
    case.answer(True, at=900)
    assert case.step(1).state == RecheckState.DUE, "once not fine, a person closes it"
    record_result(recheck_id=recheck.pk, actor=case.desk, now=after(901), result="calcium given, up")
    assert case.step(1).state == RecheckState.DONE


def test_the_same_answer_twice_is_one_and_a_late_one_is_a_note():
    case = Case()
    first = case.answer(True, key="a")
    assert case.answer(True, key="a") == first
    late = case.answer(False, at=990, words="now down", key="b")
    recheck = case.step(1)
    assert (late.late, recheck.state, recheck.result) == (
        True,
        "done",
        "Fine, said " + first.said_by + " by text message.",
    )
    assert recheck.answers.count() == 2
    assert "after the check was closed" in case.urgent()[case.practice.email], "and yet nobody misses it"


def test_an_answer_belongs_to_the_farms_own_checks_and_to_no_future():
    case = Case()
    with pytest.raises(BadInput):
        case.answer(True, step=2)
    with pytest.raises(FromTheFuture):
        case.answer(True, at=818, now=after(815))
    assert not case.step(1).answers.exists()


@pytest.mark.parametrize("words", ["1 {code}", "1. {code}!", "fine {code}", "1", "Fine"])
def test_a_text_from_the_farms_number_answers(words):
    case = Case()
    said = case.text(words.format(code=code_of(case.step(1).pk).lower()))
    assert "written down as fine" in said
    assert case.step(1).state == RecheckState.DONE


def test_a_code_from_a_strange_number_answers_nothing():
    case = Case()
    assert case.text(f"1 {code_of(case.step(1).pk)}", number="+441632960999") is None
    assert case.step(1).state == RecheckState.DUE


def test_not_fine_is_not_lost_for_want_of_a_code():
    case = Case()
    said = case.text("2 cow is dead", at=815)
    assert "told now" in said
    assert case.step(1).answers.get().words == "cow is dead"


def test_with_two_checks_that_may_be_meant_not_fine_alarms_for_both_and_asks_which():
    case = Case()
    second = case.step(3)
    second.due_at = case.step(1).due_at
    second.save()
    said = case.text("2 she is flat out")
    assert "Which one?" in said
    assert code_of(second.pk) in said
    assert case.step(1).escalated_at
    assert case.step(3).escalated_at
    assert "Which one?" in case.text("1", key="m2")
    assert case.step(1).state == RecheckState.DUE


def test_words_that_are_no_answer_are_left_to_others():
    case = Case()
    for words in ("OK 4F", "YES 4F", "10 calves", "finest cow", "", "ring me"):
        assert case.text(words) is None


@pytest.mark.parametrize(("minutes", "opens"), [(-1, True), (0, False)])
def test_a_link_ends_a_week_after_its_check_was_due(minutes, opens):
    case = Case()
    recheck = case.step(1)
    at = recheck.due_at + timedelta(days=7, minutes=minutes)
    if opens:
        assert opened(token_of(recheck), at) == recheck
    else:
        with pytest.raises(DeskError) as over:
            opened(token_of(recheck), at)
        assert over.value.status == 410


def test_a_link_of_another_check_cannot_be_made_up():
    case = Case()
    code, signature = token_of(case.step(1)).rsplit(".", 1)
    for token in (f"{code_of(case.step(3).pk)}.{signature}", code, f"{code}.", ""):
        with pytest.raises(DeskError) as unknown:
            opened(token, after(815))
        assert unknown.value.status == 404


def test_death_ends_the_checks_of_that_animal_only_and_says_what_is_over():
    case = Case()
    cow, other = factories.an_animal(case.farm), factories.an_animal(case.farm)
    for number, animal in ((1, cow), (2, cow), (3, other)):
        say_animal(recheck_id=case.step(number).pk, animal_id=animal.pk, actor=case.desk, now=after(100))
    ended = {"animal": cow, "at": after(300), "actor": case.desk, "now": after(310), "reason": "died"}
    over = animal_ended(**ended)
    assert {row.step for row in over} == {1, 2}
    assert [case.step(number).state for number in (1, 2, 3, 4)] == ["cancelled", "cancelled", "due", "due"]
    mail = OutboxMessage.objects.get(address=case.vet.member.email)
    assert "No longer to be done" in mail.body
    assert case.step(1).action in mail.body
    assert case.step(3).action not in mail.body
    told = OutboxMessage.objects.count()
    assert animal_ended(**ended) == []
    assert OutboxMessage.objects.count() == told


def test_what_is_about_the_carcass_outlives_the_animal():
    case = Case()
    cow = factories.an_animal(case.farm)
    case.visit.rechecks.update(animal=cow, template="fu_euthanasia")
    assert animal_ended(animal=cow, at=NOW, actor=case.desk, now=NOW, reason="put down") == []


def test_no_clock_ends_what_is_old_only_a_person_with_a_reason_and_a_must_only_a_vet():
    case = Case()
    values = {"actor": case.desk, "now": after(60 * 24 * 200)}
    with pytest.raises(BadInput):
        end_recheck(recheck_id=case.step(3).pk, reason=" ", **values)
    with pytest.raises(NotAllowed):
        end_recheck(recheck_id=case.step(1).pk, reason="too old", **values)
    assert end_recheck(recheck_id=case.step(3).pk, reason="too old", **values).state == "cancelled"
    assert end_recheck(recheck_id=case.step(1).pk, reason="sold", **values | {"actor": case.vet.member})
    assert AuditLine.objects.filter(verb="recheck_cancelled").count() == 2


def test_a_visit_taken_out_of_the_book_is_booked_again_once():
    case = Case()
    recheck = case.step(4)
    with pytest.raises(AlreadyDone):
        book_again(recheck_id=recheck.pk, actor=case.desk, now=after(100))
    cancel_booking(booked_id=recheck.booked_id, actor=case.desk, now=after(100), reason="snow")
    again = book_again(recheck_id=recheck.pk, actor=case.desk, now=after(101))
    assert (again.booked.state, again.booked_id) == ("booked", again.booked_id)
    assert again.booked_id != recheck.booked_id
