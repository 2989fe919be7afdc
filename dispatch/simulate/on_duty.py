"""One vet through a simulated night: where they truly are, and what the desk has heard of it."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import simpy

from dispatch.planner.plan import Stop
from dispatch.simulate.calls import NightCall
from dispatch.simulate.county import BASE
from dispatch.simulate.desk import Doing, Seen
from dispatch.simulate.limits import hard_limits_passed
from dispatch.simulate.people import CrewVet
from dispatch.simulate.record import Drive, Signed
from dispatch.simulate.shelf import FETCH_MIN, STERILISED_AFTER_DAWN_MIN
from dispatch.situation.limits import HomeLimit
from dispatch.situation.readiness import Place, at_home
from rotas.rest.intervals import Duty, DutyKind
from rotas.rest.limits import VetLimits

if TYPE_CHECKING:
    from dispatch.simulate.world import World


@dataclass(frozen=True)
class Travel:
    """A way to a farm: the minute of driving off, and minutes from now to being there."""

    leaves: float
    minutes: float
    drive_min: float
    km: float


class OnDuty:
    """The truth about one vet."""

    def __init__(self, world: World, vet: CrewVet) -> None:
        self.world, self.vet = world, vet
        self.doing = Doing.WAITING
        self.place = vet.based_at
        self.rung: str | None = None
        self.call: str | None = None
        self.eta = 0.0
        self.on_farm_since: float | None = None
        self.kit = list(vet.kit)
        self.woken = 0
        self.up_at: float | None = None
        self.worked: list[Duty] = []
        self.out_since: float | None = None
        self.heard_at: float = 0.0
        self.limits: VetLimits | None = None
        self._home: simpy.Process | None = None
        self._left_farm_at = 0.0
        self._home_drive = 0.0

    @property
    def now(self) -> float:
        """Minutes after the epoch."""
        return self.world.now

    def seen(self) -> Seen:
        """The vet as the desk has heard: still on the farm while no word of the finish has come."""
        silent = self.now < self.heard_at
        doing = Doing.ON_FARM if silent else self.doing
        place = self._readiness()
        return Seen(
            vet=self.vet,
            doing=doing,
            place=self.place,
            turnout=self.world.night.turnout[place],
            asleep=place == Place.ASLEEP,
            kit=tuple(self.kit),
            woken=self.woken,
            home_by=self.home_by(),
            awake_min=self.world.rest.awake_min(self.vet, self._so_far(), int(self.now)),
            rung=self.rung,
            call=self.call,
            eta=None if self.doing != Doing.UNDER_WAY else int(self.eta),
            on_farm_since=None if self.on_farm_since is None else int(self.on_farm_since),
        )

    def home_by(self) -> HomeLimit | None:
        """What the rest core says now."""
        return self.world.rest.home_by(self.vet, self._so_far(), int(self.now))

    def _so_far(self) -> tuple[Duty, ...]:
        """What was worked until now, the call-out under way included."""
        at = self.world.rest.at
        if self.out_since is None or self.out_since >= self.now:
            return tuple(self.worked)
        return (*self.worked, Duty(at(self.out_since), at(self.now), DutyKind.CALL_OUT))

    def _readiness(self) -> Place:
        if self.doing != Doing.WAITING:
            return Place.CAR
        if self.place == BASE:
            return Place.PRACTICE
        local = self.world.rest.at(self.now).astimezone(self.world.night.zone)
        return at_home(
            local, None if self.up_at is None else self.world.rest.at(self.up_at).astimezone(local.tzinfo)
        )

    def ring(self) -> bool:
        """The telephone rings; returns whether it woke the vet."""
        woke = self._readiness() == Place.ASLEEP
        self.woken += woke
        self.up_at = self.now
        return woke

    def travel(self, call: NightCall, stop: Stop) -> Travel:
        """The way from where the vet truly is, by the shelves, to the farm."""
        leaves = self.now + self.world.night.turnout[self._readiness()]
        minute, drive, km, here = leaves, 0.0, 0.0, None
        for place, code in stop.fetch:
            way, far = self._leg(here, place)
            minute = max(minute + way + FETCH_MIN, self.world.shelf.ready_at(code))
            drive, km, here = drive + way, km + far, place
        way, far = self._leg(here, call.place)
        fetched = {code for _, code in stop.fetch}
        brought = call.kit - fetched if stop.brings_kit else frozenset()
        ready = max((self._usable_from(code) for code in brought), default=0)
        arrives = max(minute + way, ready, call.not_before)
        return Travel(leaves, arrives - self.now, drive + way, km + far)

    def _usable_from(self, code: str) -> float:
        """When the piece in the car can be used; a piece from the shelf was waited for there."""
        return min((at for kind, at in self.kit if kind == code), default=0)

    def _leg(self, here: str | None, target: str) -> tuple[float, float]:
        """Minutes and km; on the way home part of that way is already behind the vet."""
        county = self.world.night.county
        if here is not None or self.doing != Doing.DRIVING_HOME or not self._home_drive:
            origin = here or self.place
            return county.drive(origin, target), county.distance(origin, target)
        gone = min(1.0, (self.now - self._left_farm_at) / self._home_drive)
        home = self.vet.based_at
        minutes = (1 - gone) * county.drive(self.place, target) + gone * county.drive(home, target)
        km = (1 - gone) * county.distance(self.place, target) + gone * county.distance(home, target)
        return round(minutes), km

    def may_go(self, call: NightCall, stop: Stop) -> bool:
        """Whether even the pessimistic visit would bring the vet home within the limit as it stands now."""
        limit = self.home_by()
        if limit is None:
            return True
        home = self.world.night.county.drive(call.place, self.vet.home)
        ends = self.now + self.travel(call, stop).minutes + call.pessimistic_min + home
        return self.world.rest.at(ends) <= limit.at

    def set_out(self, call: NightCall, stop: Stop) -> Travel:
        """Take the call: from here on the time is worked."""
        self.limits = self.world.rest.limits(self.vet, self._so_far(), int(self.now))
        travel = self.travel(call, stop)
        for piece in stop.fetch:
            self.world.shelf.take(piece[1])
            self.kit.append((piece[1], 0))
        if self.doing == Doing.DRIVING_HOME and self._home is not None:
            self._home.interrupt()
        self.out_since = self.now if self.out_since is None else self.out_since
        self.doing, self.call, self.place = Doing.UNDER_WAY, call.id, call.place
        self.eta = self.now + travel.minutes
        self.world.record.drives.append(Drive(self.vet.id, self.eta - travel.drive_min, self.eta, travel.km))
        return travel

    def begin(self) -> None:
        """Begin on the farm."""
        self.doing, self.on_farm_since = Doing.ON_FARM, self.now

    def finish(self, call: NightCall, stop: Stop) -> None:
        """Leave the farm; word of it may come later."""
        for code in call.spent if stop.brings_kit else ():
            mine = [piece for piece in self.kit if piece[0] == code]
            if mine:
                self.kit.remove(min(mine, key=lambda piece: piece[1]))
                dawn = max(self.world.night.day_min, int(self.now))
                self.world.shelf.bring_back(code, dawn + STERILISED_AFTER_DAWN_MIN)
        self.doing, self._left_farm_at = Doing.DRIVING_HOME, self.now
        self._home_drive = self.world.night.county.drive(self.place, self.vet.based_at)
        self.heard_at = self.now + min(call.learned_after_min, self._home_drive)
        self.world.look_at(self.heard_at)
        self.world.look()
        self._home = self.world.env.process(self._drive_home())

    def _drive_home(self) -> Generator[simpy.Event, Any, None]:
        km = self.world.night.county.distance(self.place, self.vet.based_at)
        began = self.now
        try:
            yield self.world.env.timeout(self._home_drive)
        except simpy.Interrupt:
            share = (self.now - began) / self._home_drive if self._home_drive else 1.0
            self._driven(began, km * share)
            return
        self._driven(began, km)
        self.doing, self.place, self.call, self.on_farm_since = Doing.WAITING, self.vet.based_at, None, None
        self.up_at = self.now
        self.close()
        self.world.look()

    def _driven(self, began: float, km: float) -> None:
        if self.now > began:
            self.world.record.drives.append(Drive(self.vet.id, began, self.now, km))

    def close(self) -> None:
        """Home: write the duty, and the limit that an overrun has passed."""
        if self.out_since is None or self.out_since >= self.now:
            return
        at = self.world.rest.at
        duty = Duty(at(self.out_since), at(self.now), DutyKind.CALL_OUT)
        self.worked.append(duty)
        self.world.record.duties.setdefault(self.vet.id, []).append(duty)
        for limit in hard_limits_passed(self.limits, at(self.now)):
            over = (at(self.now) - limit.at) / timedelta(minutes=1)
            rule = limit.rule.rule_id if limit.rule else ""
            self.world.record.signed.append(Signed(self.vet.id, rule, over, self.now))
        self.out_since = None
