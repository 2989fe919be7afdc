"""Whatever decides: nobody is in two places, nothing is begun too soon, no rest limit is passed unsigned."""

from collections import Counter, defaultdict
from itertools import pairwise

import pytest

from dispatch.simulate.judge import unsigned_breaches
from dispatch.simulate.night import Night
from dispatch.simulate.record import Record
from tests.dispatch.simulate.nights import busy_nights, by_every_policy

NIGHTS = busy_nights(6, least=4)


@pytest.fixture(params=NIGHTS, ids=lambda night: f"night {night.number}", scope="module")
def worked_nights(request: pytest.FixtureRequest) -> dict[str, Record]:
    return by_every_policy(request.param)


def test_every_call_is_begun_once_and_never_before_it_came(worked_nights: dict[str, Record]) -> None:
    for record in worked_nights.values():
        assert Counter(each.call.id for each in record.served) == Counter(
            call.id for call in record.night.calls
        )
        assert all(each.begun > each.call.at for each in record.served)
        assert all(each.begun >= each.call.not_before for each in record.served)


def test_nobody_is_in_two_places(worked_nights: dict[str, Record]) -> None:
    for record in worked_nights.values():
        stays = defaultdict(list)
        for each in record.attended:
            assert each.accepted <= each.set_out <= each.arrived <= each.begun < each.finished
            stays[each.vet].append((each.accepted, each.finished))
        for spans in stays.values():
            assert all(before[1] <= after[0] for before, after in pairwise(sorted(spans)))


def test_nobody_drives_two_cars(worked_nights: dict[str, Record]) -> None:
    for record in worked_nights.values():
        drives = defaultdict(list)
        for each in record.drives:
            assert each.start <= each.end
            drives[each.vet].append((each.start, each.end))
        for spans in drives.values():
            assert all(before[1] <= after[0] for before, after in pairwise(sorted(spans)))


def test_two_vets_begin_together_and_one_can_do_the_work(worked_nights: dict[str, Record]) -> None:
    for record in worked_nights.values():
        crew = {vet.id: vet for vet in record.night.crew}
        going = defaultdict(list)
        for each in record.attended:
            going[each.call].append(each)
        for name, there in going.items():
            call = record.night.call_by_id[name]
            assert len(there) == call.vets_needed
            assert len({each.begun for each in there}) == 1
            assert any(
                all(any(skill in crew[each.vet].skills for skill in group) for group in call.skills)
                for each in there
            )


def test_whoever_is_at_work_came_the_whole_way(worked_nights: dict[str, Record]) -> None:
    """Nobody arrives sooner than the shortest drive from any place they could be."""
    for record in worked_nights.values():
        for each in record.attended:
            assert each.arrived - each.set_out >= _shortest(record.night, each.vet, each.call)


def _shortest(night: Night, vet: str, name: str) -> int:
    person = next(each for each in night.crew if each.id == vet)
    place = night.call_by_id[name].place
    from_places = {person.based_at, *(call.place for call in night.calls)}
    return min(night.county.drive(origin, place) for origin in from_places)


def test_the_judge_finds_no_unsigned_breach(worked_nights: dict[str, Record]) -> None:
    for record in worked_nights.values():
        assert unsigned_breaches(record) == []
