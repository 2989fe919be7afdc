"""Who may make and close an address, what it shows, and what of it is kept."""

import hashlib
from datetime import timedelta

import pytest
from django.db import connection
from icalendar import Calendar
from psycopg.types.range import TimestamptzRange

from rotas.errors import AlreadyDone, BadInput, NotAllowed, NotFound
from rotas.models import AuditLine, CalendarFeed, ShiftRole
from rotas.services.calendars import (
    BACK,
    MOST_OPEN,
    OFF_TOLD,
    READ_AGAIN,
    TooManyCalendars,
    calendars_of,
    make_calendar,
    read_calendar,
    revoke_calendar,
)
from rotas.services.rota import add_shift, end_shift
from tests import factories
from tests.factories import NOW

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)


@pytest.fixture
def practice():
    return factories.a_practice(name="Fallowdene")


@pytest.fixture
def manager(practice):
    return factories.a_manager(practice, name="Noor Vale")


@pytest.fixture
def vet(practice):
    return factories.a_vet(practice, name="Anwen Sedgeley")


def make(vet, actor, **values):
    return make_calendar(practice=actor.practice, vet=vet, actor=actor, now=NOW, **values)


def put_on(vet, manager, start, hours=12, role=ShiftRole.FIRST):
    end = start + hours * HOUR
    return add_shift(practice=vet.practice, vet=vet, role=role, start=start, end=end, actor=manager, now=NOW)


def told(secret, now=NOW):
    events = Calendar.from_ical(read_calendar(secret, now=now)).walk("VEVENT")
    return [(str(each["SUMMARY"]), str(each["STATUS"]), int(each["SEQUENCE"])) for each in events]


def test_the_secret_is_told_once_and_only_its_digest_is_kept(vet):
    feed, secret = make(vet, vet.member, used_for="my telephone")
    assert feed.secret_hash == hashlib.sha256(secret.encode()).hexdigest()
    with connection.cursor() as cursor:
        for table in ("rotas_calendarfeed", "rotas_calendarfeedevent", "rotas_auditline"):
            cursor.execute(f"SELECT count(*) FROM {table} t WHERE t::text LIKE %s", [f"%{secret}%"])
            assert cursor.fetchone() == (0,), table
            cursor.execute(f"SELECT count(*) FROM {table}")
            assert cursor.fetchone() == (1,), table
    line = AuditLine.objects.get()
    assert line.sentence == "Anwen Sedgeley made a calendar address for Anwen Sedgeley's duties"


def test_two_addresses_never_share_a_secret(vet):
    assert make(vet, vet.member)[1] != make(vet, vet.member)[1]


def test_a_vet_reads_their_own_duties_by_role(practice, vet, manager):
    put_on(vet, manager, NOW)
    put_on(vet, manager, NOW + 30 * HOUR, role=ShiftRole.SECOND)
    put_on(factories.a_vet(practice), manager, NOW)
    _, secret = make(vet, vet.member)
    assert told(secret) == [("First on call", "CONFIRMED", 0), ("Second on call", "CONFIRMED", 0)]


def test_the_whole_practice_is_told_by_name_and_no_other_practice(practice, vet, manager):
    put_on(vet, manager, NOW)
    theirs = factories.a_vet(factories.a_practice())
    put_on(theirs, factories.a_manager(theirs.practice), NOW)
    _, secret = make(None, factories.reception(practice))
    assert told(secret) == [("First on call: Anwen Sedgeley", "CONFIRMED", 0)]
    assert b"NAME:Fallowdene\\, rota" in read_calendar(secret, now=NOW)


def test_a_change_keeps_the_duty_and_counts(vet, manager):
    shift = put_on(vet, manager, NOW)
    _, secret = make(vet, vet.member)
    before = Calendar.from_ical(read_calendar(secret, now=NOW)).walk("VEVENT")[0]
    shift.period = TimestamptzRange(NOW, NOW + 13 * HOUR)
    shift.save()
    after = Calendar.from_ical(read_calendar(secret, now=NOW)).walk("VEVENT")[0]
    assert (before["UID"], before["SEQUENCE"] + 1) == (after["UID"], after["SEQUENCE"])
    assert after["DTSTAMP"].dt >= before["DTSTAMP"].dt


def test_a_duty_taken_off_is_told_so_for_a_week_and_then_left_out(vet, manager):
    shift = put_on(vet, manager, NOW + HOUR)
    _, secret = make(vet, vet.member)
    end_shift(shift=shift, actor=manager, now=NOW)
    gone = [("Off the rota: first on call", "CANCELLED", 1)]
    assert told(secret, NOW + OFF_TOLD - HOUR) == gone
    assert told(secret, NOW + OFF_TOLD) == []


def test_a_duty_put_on_anew_is_not_told_as_taken_off_too(vet, manager):
    shift = put_on(vet, manager, NOW + HOUR)
    end_shift(shift=shift, actor=manager, now=NOW)
    put_on(vet, manager, NOW + 2 * HOUR, role=ShiftRole.SECOND)
    _, secret = make(vet, vet.member)
    assert told(secret) == [("Second on call", "CONFIRMED", 0)]


def test_a_duty_given_to_another_is_told_to_both_and_once_to_everyone(practice, vet, manager):
    other = factories.a_vet(practice, name="Tomas Birkrigg")
    end_shift(shift=put_on(vet, manager, NOW + HOUR), actor=manager, now=NOW)
    put_on(other, manager, NOW + HOUR)
    secrets = [make(whose, manager)[1] for whose in (vet, other, None)]
    assert [told(secret)[0][:2] for secret in secrets] == [
        ("Off the rota: first on call", "CANCELLED"),
        ("First on call", "CONFIRMED"),
        ("First on call: Tomas Birkrigg", "CONFIRMED"),
    ]
    assert [len(told(secret)) for secret in secrets] == [1, 1, 1]


@pytest.mark.parametrize(("later", "shown"), [(timedelta(0), 1), (timedelta(minutes=1), 0)])
def test_what_was_is_told_for_two_months(vet, manager, later, shown):
    put_on(vet, manager, NOW - 12 * HOUR)  # it ends at this moment
    _, secret = make(vet, vet.member)
    assert len(told(secret, NOW + BACK - timedelta(minutes=1) + later)) == shown


def test_a_revoked_address_opens_no_more(vet):
    feed, secret = make(vet, vet.member)
    assert told(secret) == []
    revoke_calendar(feed_id=feed.pk, actor=vet.member, now=NOW)
    with pytest.raises(NotFound):
        read_calendar(secret, now=NOW)
    with pytest.raises(AlreadyDone):
        revoke_calendar(feed_id=feed.pk, actor=vet.member, now=NOW)
    assert AuditLine.objects.filter(verb="calendar_revoked").count() == 1


@pytest.mark.parametrize("wrong", ["", "x", "x" * 129, "\x00", "é", "a/b", "' OR 1=1 --"])
def test_what_is_no_secret_opens_nothing(vet, wrong):
    make(vet, vet.member)
    with pytest.raises(NotFound):
        read_calendar(wrong, now=NOW)


def test_the_digest_itself_opens_nothing(vet):
    feed, _ = make(vet, vet.member)
    with pytest.raises(NotFound):
        read_calendar(feed.secret_hash, now=NOW)


def test_who_leaves_takes_their_addresses_along(practice, vet):
    desk = factories.reception(practice)
    secrets = [make(vet, vet.member)[1], make(None, desk)[1]]
    vet.active = False
    vet.save()
    desk.is_active = False
    desk.save()
    for secret in secrets:
        with pytest.raises(NotFound):
            read_calendar(secret, now=NOW)


def test_a_reading_is_written_down_once_a_quarter_of_an_hour_and_leaves_no_event(vet):
    feed, secret = make(vet, vet.member)
    for minutes in (0, 14, 15):
        read_calendar(secret, now=NOW + timedelta(minutes=minutes))
        feed.refresh_from_db()
        assert feed.last_read_at == NOW + (READ_AGAIN if minutes == 15 else timedelta(0))
    assert feed.events.count() == 1


def test_a_vets_own_duties_are_for_them_and_the_managers(practice, vet, manager):
    other = factories.a_vet(practice)
    for actor in (other.member, factories.reception(practice)):
        with pytest.raises(NotAllowed):
            make(vet, actor)
    feed, _ = make(vet, manager)
    with pytest.raises(NotAllowed):
        revoke_calendar(feed_id=feed.pk, actor=other.member, now=NOW)
    assert revoke_calendar(feed_id=feed.pk, actor=vet.member, now=NOW).revoked_at == NOW


def test_another_practices_vet_and_address_are_not_there(vet, manager):
    theirs = factories.a_vet(factories.a_practice())
    feed, _ = make(theirs, theirs.member)
    with pytest.raises(NotFound):
        make(theirs, manager)
    with pytest.raises(NotFound):
        revoke_calendar(feed_id=feed.pk, actor=manager, now=NOW)
    with pytest.raises(NotFound):
        make_calendar(practice=theirs.practice, vet=None, actor=manager, now=NOW)


def test_members_see_what_they_may_close(practice, vet, manager):
    own, everyones = make(vet, vet.member)[0], make(None, manager)[0]
    assert calendars_of(vet.member) == [own]
    assert calendars_of(manager) == [everyones, own]
    assert calendars_of(factories.reception(practice)) == []


@pytest.mark.parametrize(("open_already", "made"), [(MOST_OPEN - 1, True), (MOST_OPEN, False)])
def test_a_member_has_ten_open_addresses_and_no_more(vet, open_already, made):
    feeds = [make(vet, vet.member)[0] for _ in range(open_already)]
    if made:
        make(vet, vet.member)
        return
    with pytest.raises(TooManyCalendars):
        make(vet, vet.member)
    revoke_calendar(feed_id=feeds[0].pk, actor=vet.member, now=NOW)
    make(vet, vet.member)


@pytest.mark.parametrize(("letters", "taken"), [(60, True), (61, False)])
def test_what_it_is_for_has_sixty_letters(vet, letters, taken):
    if taken:
        assert make(vet, vet.member, used_for="x" * letters)[0].used_for == "x" * letters
        return
    with pytest.raises(BadInput):
        make(vet, vet.member, used_for="x" * letters)
    assert CalendarFeed.objects.count() == 0
