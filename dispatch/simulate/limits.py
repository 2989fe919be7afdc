"""What the rest core says of a vet at a moment of a simulated night; asked often, answered once."""

from datetime import datetime, timedelta

from dispatch.inputs.awake import awake_cost
from dispatch.simulate.night import Night
from dispatch.simulate.people import CrewVet
from dispatch.situation.limits import HomeLimit, home_limit
from rotas.rest.awake import hours_awake
from rotas.rest.intervals import Duty, DutyKind
from rotas.rest.limits import vet_limits
from rotas.rest.log import DutyLog
from rotas.rest.rules import RuleSet, rule_set

RULES = "practice"
MINUTE = timedelta(minutes=1)
NO_COST: tuple[tuple[int, int], ...] = ()


def rest_rules() -> RuleSet:
    """The limits that the simulated practice goes by."""
    return rule_set(RULES)


class RestDesk:
    """Limits and hours awake of every vet of one night, remembered by what they depend on."""

    def __init__(self, night: Night) -> None:
        self.night = night
        self._limits: dict[tuple[str, int, int], HomeLimit | None] = {}
        self._awake: dict[tuple[str, int, int], tuple[tuple[int, int], ...]] = {}

    def at(self, minute: float) -> datetime:
        """The instant of a minute."""
        return self.night.epoch + minute * MINUTE

    def home_by(self, vet: CrewVet, worked: tuple[Duty, ...], now: int) -> HomeLimit | None:
        """The latest to be home by; None where nothing bounds the vet."""
        if not self.night.rested:
            return None
        key = (vet.id, now, len(worked))
        if key not in self._limits:
            self._limits[key] = self._home_by(vet, worked, now)
        return self._limits[key]

    def _home_by(self, vet: CrewVet, worked: tuple[Duty, ...], now: int) -> HomeLimit | None:
        moment = self.at(max(now, vet.on_from))
        duties = [*vet.before, *self.rostered(vet), *worked]
        found = vet_limits(
            [duty for duty in duties if duty.start <= moment],
            rest_rules(),
            self.night.zone,
            now=moment,
            shift_end=self.at(vet.on_until),
            planned=(vet.after,) if vet.after else (),
        )
        return home_limit(found)

    def rostered(self, vet: CrewVet) -> tuple[Duty, ...]:
        """The duty of this night or morning: on call at home, or a day at work."""
        if vet.standby is not None:
            return (vet.standby,)
        return (Duty(self.at(vet.on_from), self.at(vet.on_until), DutyKind.WORK),)

    def awake_cost(self, vet: CrewVet, worked: tuple[Duty, ...], now: int) -> tuple[tuple[int, int], ...]:
        """The planner's price curve of being awake for long; nothing for who is not up yet."""
        if not self.night.rested or now < vet.on_from:
            return NO_COST
        key = (vet.id, now, len(worked))
        if key not in self._awake:
            log = DutyLog((*vet.before, *worked), self.night.zone)
            up = hours_awake(log, self.at(now)) // MINUTE
            self._awake[key] = awake_cost(up)
        return self._awake[key]
