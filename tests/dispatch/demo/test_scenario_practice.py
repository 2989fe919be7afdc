"""The demo practice: people, rota, kit, clients and medicines hold together and are invented."""

import re
from itertools import combinations

import phonenumbers
import pytest

from cases.triage import SKILLS, SPECIES, catalogue
from cases.withdrawal.published import published_periods
from dispatch.demo.scenario.kinds import KitItem
from dispatch.demo.scenario.read import ROADS, ScenarioError, build, clock, read_scenario
from dispatch.demo.sign_ins import SIGN_INS
from dispatch.travel.roads import network_of

FOR_DRAMA = re.compile(r"\+44(3069990|1134960|1144960)\d{3}")
"""Ranges that the British regulator keeps for drama (from memory), of those that number
plans hold valid: 03069 990xxx, 0113 496 0xxx, 0114 496 0xxx."""

LEVELS = {"solo", "with_phone_support", "with_second_present"}
DISEASE = {"high_health", "clear", "caution", "restricted", "stand_off"}
MILKINGS = {"none": 0, "once": 1, "twice": 2, "three": 3, "robot": 0}


@pytest.fixture(scope="module")
def demo():
    return read_scenario()


def everyone(demo):
    return [*demo.members, *(vet.member for vet in demo.vets)]


def animals(demo):
    return [animal for farm in demo.locations.values() for animal in farm.animals]


def groups(demo):
    return [group for farm in demo.locations.values() for group in farm.groups]


@pytest.mark.parametrize(
    ("text", "minutes"),
    [("0 18:00", 0), ("0 21:40", 220), ("1 08:00", 840), ("-1 18:00", -1440), ("0 00:00", -1080)],
)
def test_clock_counts_minutes_from_six_in_the_evening(text, minutes):
    assert clock(text) == minutes


@pytest.mark.parametrize("text", ["18:00", "0 24:00", "0 18:60", "0 8:00", "", "0 18:00 "])
def test_wrong_clock_is_refused_with_what_to_write(text):
    with pytest.raises(ScenarioError, match="write the day and the clock"):
        clock(text)


def test_wrong_key_is_refused_by_name():
    with pytest.raises(ScenarioError, match="colour"):
        build(KitItem, {"kind": "hoist", "state": "ready", "colour": "red"})


def test_staff_are_the_sample_practice(demo):
    assert [vet.id for vet in demo.vets] == [f"V{number}" for number in range(1, 10)]
    roles = [role for member in demo.members for role in member.roles]
    assert roles.count("reception") == 2
    assert roles.count("manager") == 1
    assert [member.job for member in demo.members].count("nurse") == 2
    assert all(vet.member.roles == ("vet",) for vet in demo.vets)


def test_ids_and_user_names_are_used_once(demo):
    for values in (
        [member.id for member in everyone(demo)],
        [member.username for member in everyone(demo)],
        [client.id for client in demo.clients],
        [client.account for client in demo.clients],
        [farm.id for client in demo.clients for farm in client.locations],
        [farm.farm for farm in demo.locations.values()],
        [farm.holding for farm in demo.locations.values()],
        [animal.id for animal in animals(demo)],
        [animal.tag for animal in animals(demo)],
        [group.id for group in groups(demo)],
        [medicine.id for medicine in demo.medicines],
        [call.id for call in demo.calls],
        [booking.id for booking in demo.bookings],
    ):
        assert values
        assert len(values) == len(set(values))


def test_sign_ins_are_members_with_that_role(demo):
    known = {member.username: member for member in everyone(demo)}
    assert {role for role, *_ in SIGN_INS} == {"reception", "manager", "vet"}
    for role, username, password, name in SIGN_INS:
        assert role in known[username].roles
        assert name.startswith(known[username].name)
        assert len(password) >= 12


def test_skills_levels_and_kit_are_words_of_the_catalogue(demo):
    kit = {kind for complaint in catalogue() for kind in complaint.extra_kit}
    for vet in demo.vets:
        assert {skill for skill, _ in vet.skills} <= SKILLS
        assert {level for _, level in vet.skills} <= LEVELS
        assert set(vet.not_available_for) <= SKILLS
        assert {item.kind for item in vet.car} <= kit
        assert len({item.kind for item in vet.car}) == len(vet.car)
    assert {item.kind for item in demo.base_kit} <= kit
    states = {item.state for vet in demo.vets for item in vet.car} | {item.state for item in demo.base_kit}
    assert states == {"ready", "used", "sterilising"}


def test_someone_can_do_alone_whatever_the_catalogue_asks(demo):
    solo = {skill for vet in demo.vets for skill, level in vet.skills if level == "solo"}
    needs = [need for complaint in catalogue() for need in complaint.skills]
    assert len(needs) > 91
    assert not [need for need in needs if not need.met_by(solo)]


def test_no_two_shifts_of_a_vet_overlap(demo):
    pairs = [(a, b) for a, b in combinations(demo.shifts, 2) if a.vet == b.vet]
    assert len(pairs) > 100
    assert not [(a, b) for a, b in pairs if a.start_min < b.end_min and b.start_min < a.end_min]


def test_shifts_name_vets_and_roles_and_last_some_time(demo):
    assert {shift.role for shift in demo.shifts} == {"first", "second", "day"}
    assert {shift.vet for shift in demo.shifts} == {vet.id for vet in demo.vets}
    assert all(0 < shift.end_min - shift.start_min <= 24 * 60 for shift in demo.shifts)


def test_every_night_of_the_fortnight_has_a_first_and_a_second_and_one_who_cuts(demo):
    cuts = {vet.id for vet in demo.vets if ("caesar_cattle", "solo") in vet.skills}
    for day in range(-7, 8):
        at_ten = day * 1440 + 240
        on = [shift for shift in demo.shifts if shift.start_min <= at_ten < shift.end_min]
        assert [shift.role for shift in on].count("first") == 1
        assert [shift.role for shift in on].count("second") >= 1
        assert cuts & {shift.vet for shift in on}


def test_tonight_is_the_friday_of_the_sample_rota_with_spring_cover(demo):
    on = {(shift.vet, shift.role) for shift in demo.shifts if shift.start_min <= 0 < shift.end_min}
    assert on == {("V5", "first"), ("V1", "second"), ("V2", "second")}


def test_no_vet_is_first_on_call_against_their_limits(demo):
    firsts = {(shift.vet, shift.start_min // 1440) for shift in demo.shifts if shift.role == "first"}
    assert not [(vet, day) for vet, day in firsts if vet == "V1" and ("V1", day + 1) in firsts]
    nights = {shift.vet for shift in demo.shifts if shift.role != "day"}
    assert "V9" not in nights


def test_earlier_work_was_done_while_on_call(demo):
    assert len(demo.worked) > 20
    for work in demo.worked:
        assert work.kind in {"call_out", "drive_home", "phone_advice"}
        assert work.start_min < work.end_min < 0
        assert any(
            shift.vet == work.vet
            and shift.role != "day"
            and shift.start_min <= work.start_min < shift.end_min
            for shift in demo.shifts
        )
    pairs = [(a, b) for a, b in combinations(demo.worked, 2) if a.vet == b.vet]
    assert not [(a, b) for a, b in pairs if a.start_min < b.end_min and b.start_min < a.end_min]


def test_telephone_numbers_are_valid_and_kept_for_drama(demo):
    numbers = [phone.number for client in demo.clients for phone in client.phones]
    numbers += [member.phone for member in everyone(demo)]
    numbers += [demo.practice.phone, *(neighbour.phone for neighbour in demo.neighbours)]
    assert len(numbers) > 100
    for number in numbers:
        assert FOR_DRAMA.fullmatch(number), number
        parsed = phonenumbers.parse(number)
        assert phonenumbers.is_valid_number(parsed)
        assert phonenumbers.format_number(parsed, phonenumbers.PhoneNumberFormat.E164) == number
    assert len(numbers) == len(set(numbers))


def test_mail_goes_to_a_domain_that_cannot_exist(demo):
    addresses = [client.email for client in demo.clients] + [member.email for member in everyone(demo)]
    addresses += [client.milking_contact_email for client in demo.clients if client.milking_contact_email]
    assert len(addresses) > 60
    assert all(re.fullmatch(r"[a-z]+@[a-z-]+\.example", address) for address in addresses)  # RFC 2606


def test_sixty_farms_stand_on_the_roads(demo):
    farms = list(demo.locations.values())
    assert len(farms) == 60
    assert 55 <= len(demo.clients) <= 60
    places = [farm.at for farm in farms] + [vet.home for vet in demo.vets] + [demo.practice.base]
    assert max(km for _, km in network_of(ROADS).snap(places)) < 0.01


def test_clients_have_one_or_two_numbers(demo):
    counts = {len(client.phones) for client in demo.clients}
    assert counts == {1, 2}
    assert all(phone.label for client in demo.clients for phone in client.phones)


def test_farms_keep_what_the_catalogue_knows(demo):
    for farm in demo.locations.values():
        assert farm.species
        assert set(farm.species) <= SPECIES
        assert {thing.species for thing in (*farm.animals, *farm.groups)} <= set(farm.species)
        assert farm.animals or farm.groups
        assert farm.disease_status in DISEASE


def test_milkings_fit_the_system(demo):
    systems = {farm.milking_system for farm in demo.locations.values()}
    assert systems == set(MILKINGS)
    for farm in demo.locations.values():
        assert len(farm.milking_times) == MILKINGS[farm.milking_system]
        assert all(re.fullmatch(r"([01]\d|2[0-3]):[0-5]\d", at) for at in farm.milking_times)
        in_milk = any(thing.in_milk for thing in (*farm.animals, *farm.groups))
        assert in_milk == (farm.milking_system != "none")


def test_hazards_and_access_are_told(demo):
    told = " ".join(farm.hazards.lower() + farm.access.lower() for farm in demo.locations.values())
    for word in ("bull", "dog", "slurry", "lagoon", "gate code", "ice", "cable"):
        assert word in told


def test_a_figure_on_a_label_was_published_and_read(demo):
    """Every number is a row whose source was read; whose label it is stays beside it."""
    verified = {
        (row.source, row.commodity, row.value, {"h": "hours", "d": "days"}[row.unit.split()[0]])
        for row in published_periods()
        if row.may_seed_a_label and row.value
    }
    figures = [
        period for medicine in demo.medicines for period in medicine.periods if period.value is not None
    ]
    assert len(figures) >= 15
    for period in figures:
        assert (period.source, period.commodity, str(period.value), period.unit) in verified
        assert period.mark == "verified in stored public text"
        assert period.jurisdiction == "US"
        assert not period.not_for_use


def test_labels_have_blanks_and_refusals_too(demo):
    periods = [period for medicine in demo.medicines for period in medicine.periods]
    blanks = [period for period in periods if period.value is None]
    assert len([period for period in blanks if period.not_for_use]) >= 3
    assert len([period for period in blanks if not period.not_for_use]) >= 10
    assert all(period.note for period in blanks)
    keys = [(m.id, p.species, p.route, p.commodity) for m in demo.medicines for p in m.periods]
    assert len(keys) == len(set(keys))


def test_bookings_are_scheduled_work_on_days_with_that_vet(demo):
    vets = {vet.id: dict(vet.skills) for vet in demo.vets}
    assert {booking.kind for booking in demo.bookings} == {"routine", "recheck", "test_reading"}
    for booking in demo.bookings:
        complaint = catalogue()[booking.complaint]
        assert complaint.scheduled
        assert booking.location in demo.locations
        assert 0 < booking.minutes_median <= booking.minutes_pessimistic
        assert booking.start_min < booking.end_min
        on = [s for s in demo.shifts if s.role == "day" and s.start_min <= booking.start_min < s.end_min]
        asked = [shift.vet for shift in on if booking.vet in (None, shift.vet)]
        needs = [need for need in complaint.skills if not need.preferred]
        assert [vet for vet in asked if all(need.met_by(vets[vet]) for need in needs)], booking.id


def test_a_reading_lies_in_its_hard_window_with_the_vet_who_injected(demo):
    readings = [booking for booking in demo.bookings if booking.kind == "test_reading"]
    assert len(readings) == 2
    for reading in readings:
        window = catalogue()[reading.complaint].hard_window
        assert reading.vet
        assert reading.injected_min is not None
        assert reading.start_min >= reading.injected_min + (window.after_h - window.slack_h) * 60
        assert reading.end_min <= reading.injected_min + (window.after_h + window.slack_h) * 60


def test_tomorrow_has_work_of_every_kind(demo):
    tomorrow = [booking for booking in demo.bookings if 360 <= booking.start_min < 1800]
    assert len(tomorrow) >= 4
    assert {booking.kind for booking in tomorrow} == {"routine", "recheck", "test_reading"}
