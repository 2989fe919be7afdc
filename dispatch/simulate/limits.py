"""What the rest core says of a vet at a moment of a simulated night; asked often, answered once."""

from datetime import datetime, timedelta

from dispatch.simulate.night import Night
from dispatch.simulate.people import CrewVet
from dispatch.situation.limits import HomeLimit, home_limit
from rotas.rest.awake import hours_awake
from rotas.rest.intervals import Duty, DutyKind
from rotas.rest.limits import Limit, VetLimits, vet_limits
from rotas.rest.log import DutyLog
from rotas.rest.rules import Measure, RuleSet, rule_set

RULES = "practice"
MINUTE = timedelta(minutes=1)


def rest_rules() -> RuleSet:
    """The limits that the simulated practice goes by."""
    return rule_set(RULES)


def daily_rest() -> timedelta:
    """Daily rest begins again once a limit has been passed."""
    return max(rule.amount for rule in rest_rules().of(Measure.DAILY_REST))


HARD = frozenset(Measure) - {Measure.ON_CALL_NIGHT_REST, Measure.BROKEN_RESTS, Measure.MORNING_OFF}
"""A broken night on call has its own remedy, the morning off, and bars nobody from a call."""


def hard_limits_passed(limits: VetLimits | None, home_at: datetime) -> list[Limit]:
    """Every rest rule, the shift's own end apart, that being home only now has passed."""
    passed = limits.passed(home_at) if limits else ()
    return [limit for limit in passed if limit.rule is not None and limit.rule.measure in HARD]


class RestDesk:
    """Limits and hours awake of every vet of one night, remembered by what they depend on."""

    def __init__(self, night: Night) -> None:
        self.night = night
        self._limits: dict[tuple[str, int, int], VetLimits] = {}
        self._awake: dict[tuple[str, int, int], int] = {}

    def at(self, minute: float) -> datetime:
        """The instant of a minute."""
        return self.night.epoch + minute * MINUTE

    def home_by(self, vet: CrewVet, worked: tuple[Duty, ...], now: int) -> HomeLimit | None:
        """The latest to be home by; None where nothing bounds the vet."""
        return home_limit(self.limits(vet, worked, now))

    def limits(self, vet: CrewVet, worked: tuple[Duty, ...], now: int) -> VetLimits | None:
        """All that bounds the vet now."""
        if not self.night.rested:
            return None
        key = (vet.id, now, len(worked))
        if key not in self._limits:
            self._limits[key] = self._found(vet, worked, now)
        return self._limits[key]

    def _found(self, vet: CrewVet, worked: tuple[Duty, ...], now: int) -> VetLimits:
        moment = self.at(max(now, vet.on_from))
        duties = [*vet.before, *self.rostered(vet), *worked]
        return vet_limits(
            [duty for duty in duties if duty.start <= moment],
            rest_rules(),
            self.night.zone,
            now=moment,
            shift_end=self.at(vet.on_until),
            planned=(vet.after,) if vet.after else (),
        )

    def rostered(self, vet: CrewVet) -> tuple[Duty, ...]:
        """The duty of this night or morning: on call at home, or a day at work."""
        if vet.standby is not None:
            return (vet.standby,)
        return (Duty(self.at(vet.on_from), self.at(vet.on_until), DutyKind.WORK),)

    def awake_min(self, vet: CrewVet, worked: tuple[Duty, ...], now: int) -> int:
        """Minutes awake, by the rest core's estimate; none for who is not up yet."""
        if not self.night.rested or now < vet.on_from:
            return 0
        key = (vet.id, now, len(worked))
        if key not in self._awake:
            log = DutyLog((*vet.before, *worked), self.night.zone)
            self._awake[key] = hours_awake(log, self.at(now)) // MINUTE
        return self._awake[key]
