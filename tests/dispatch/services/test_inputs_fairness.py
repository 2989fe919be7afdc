"""What the rows say of dirt, suspicion, scarce skills and shares, as the planner is told."""

from datetime import timedelta

import pytest

from cases.models import DiseaseStatus, Visit
from rotas.models import Practice, ShiftRole, VetSkill
from tests import factories as make
from tests.dispatch.services.evening import NOW, Evening, goes, minutes, reports
from tests.dispatch.services.questions import job_of, planned, question


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("complaint", "status", "soiling"),
    [
        ("milk_fever", DiseaseStatus.CLEAR, 0),
        ("milk_fever", DiseaseStatus.CAUTION, 1),
        ("milk_fever", DiseaseStatus.RESTRICTED, 2),
        ("calf_scour", DiseaseStatus.CLEAR, 2),
        ("calf_scour", DiseaseStatus.CAUTION, 2),
    ],
)
def test_farm_leaves_the_dirtier_of_its_complaint_and_its_standing(complaint, status, soiling):
    evening = Evening()
    call = evening.call(evening.farm(disease_status=status), complaint=complaint)
    job = job_of(question(evening), call)
    assert (job.soiling, job.stand_off) == (soiling, False)


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("complaint", "answers", "suspect"),
    [
        ("suspected_notifiable", {}, True),
        ("lame_cattle", {"notifiable_suspected": "yes"}, True),
        ("lame_cattle", {"notifiable_suspected": "no"}, False),
        ("abortion_cow", {}, False),
    ],
)
def test_suspected_farm_is_one_to_go_nowhere_after(complaint, answers, suspect):
    evening = Evening()
    call = evening.call(complaint=complaint, answers=answers)
    job = job_of(question(evening), call)
    assert (job.stand_off, job.soiling == 3) == (suspect, suspect)


@pytest.mark.django_db
def test_vet_who_is_or_was_at_a_suspected_farm_this_duty_goes_to_no_other():
    evening = Evening()
    call = evening.call(evening.farm(name="Oak Farm"), answers={"notifiable_suspected": "yes"})
    visit = goes(evening, call, evening.anand)
    reports(evening, visit, "set_out", NOW)
    assert planned(question(evening, NOW + minutes(1)), evening.anand).stood_down == ""
    reports(evening, visit, "on_farm", NOW + minutes(20))
    said = planned(question(evening, NOW + minutes(21)), evening.anand).stood_down
    assert said == (
        "Anand has been at Oak Farm, where a notifiable disease is suspected: "
        "no other farm until the authority clears it."
    )
    reports(evening, visit, "finished", NOW + minutes(60))
    assert planned(question(evening, NOW + minutes(61)), evening.anand).stood_down == said
    assert planned(question(evening, NOW + minutes(61)), evening.brockley).stood_down == ""


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("third", "fourth", "scarce"),
    [("with_phone_support", "with_phone_support", True), ("solo", "with_phone_support", False)],
)
def test_skill_that_no_more_than_two_do_alone_is_scarce(third, fourth, scarce):
    """Anand and Brockley do caesareans alone."""
    evening = Evening()
    for name, level in (("Third", third), ("Fourth", fourth)):
        VetSkill.objects.filter(vet=evening.vet(name), skill="caesar_cattle").update(level=level)
    assert ("caesar_cattle" in question(evening).scarce_skills) is scarce


@pytest.mark.django_db
def test_skill_that_everybody_holds_is_not_scarce_however_few_they_are():
    assert question(Evening()).scarce_skills == frozenset()


@pytest.mark.django_db
def test_what_every_farm_vet_does_is_never_scarce():
    evening = Evening()
    for number in range(3):
        evening.vet(f"Vet {number}")
    VetSkill.objects.create(
        practice=evening.practice, vet=evening.anand, skill="first_opinion_farm", level="solo"
    )
    assert "first_opinion_farm" not in question(evening).scarce_skills


def went_out(evening: Evening, vet, days_ago: float, hour: int) -> None:
    """Let a vet have set out to a call on an earlier day, at an hour of the practice's clock."""
    local = evening.practice.local(NOW - timedelta(days=days_ago)).replace(hour=hour, minute=0)
    visit = goes(evening, evening.call(), vet)
    Visit.objects.filter(pk=visit.pk).update(
        accepted_at=local, set_out_at=local, on_farm_at=local, finished_at=local, state="finished"
    )


def shares(evening: Evening) -> tuple[int, int]:
    problem = question(evening)
    return planned(problem, evening.anand).share, planned(problem, evening.brockley).share


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("days_ago", "hour", "share"),
    [(1, 18, 1), (1, 17, 0), (1, 7, 1), (1, 8, 0), (27, 22, 1), (29, 22, 0)],
)
def test_share_counts_late_call_outs_of_four_weeks(days_ago, hour, share):
    evening = Evening()
    went_out(evening, evening.anand, days_ago, hour)
    assert shares(evening) == (share, 0)


@pytest.mark.django_db
def test_call_out_by_day_counts_while_on_call_by_the_rota():
    evening = Evening()
    start = NOW - timedelta(days=2, hours=12)
    make.a_shift(evening.anand, start, 10, ShiftRole.FIRST)
    went_out(evening, evening.anand, 2, 12)
    assert shares(evening) == (1, 0)


@pytest.mark.django_db
def test_share_is_counted_above_the_least_burdened_and_no_further_than_nine():
    evening = Evening()
    for day in range(1, 13):
        went_out(evening, evening.anand, day, 22)
    went_out(evening, evening.brockley, 3, 22)
    assert shares(evening) == (9, 0)


@pytest.mark.django_db
def test_the_night_is_the_practices_own():
    evening = Evening()
    Practice.objects.filter(pk=evening.practice.pk).update(night_from="20:00")
    evening.practice.refresh_from_db()
    went_out(evening, evening.anand, 1, 19)
    assert shares(evening) == (0, 0)
