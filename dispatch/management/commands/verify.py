"""manage.py verify: replay published and worked values with the product's own cores, without a database."""

import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from cases.withdrawal import replay as withdrawals
from rotas.fatigue.replay import TOLERANCE, differences
from rotas.rest import replay as rest

UNREADABLE = (LookupError, TypeError, ValueError, AttributeError, ArithmeticError, AssertionError)
FIGURES = frozenset({"measured_h", "required_h", "required_max_h", "margin_h", "compliant"})

Case = Mapping[str, Any]
Replayed = rest.Replayed | withdrawals.Replayed


class Command(BaseCommand):
    help = (
        "Replay worked cases and reference values with the cores that judge the rota. Prints expected beside "
        "got and ends with an error at any difference. Needs no database."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        kinds = parser.add_subparsers(dest="what", required=True)
        cases = kinds.add_parser("rest", help="rest cases: measured, required, margin, expected and got")
        cases.add_argument("file", type=Path, help="JSON with a list of cases")
        traces = kinds.add_parser("fatigue", help="sleep and wake schedules against hourly values")
        traces.add_argument("inputs", type=Path, help="CSV with the sleep intervals of each schedule")
        traces.add_argument("traces", type=Path, help="CSV with the hourly values")
        dates = kinds.add_parser("withdrawals", help="withdrawal cases: expected and got dates")
        dates.add_argument("file", type=Path, help="JSON with a list of cases")

    def handle(self, *args: Any, what: str, **options: Any) -> None:
        if what == "rest":
            self._cases(options["file"], rest.replay_case, rest_lines)
        elif what == "withdrawals":
            self._cases(options["file"], withdrawals.replay_case, plain_lines)
        else:
            self._traces(options["inputs"], options["traces"])

    def _cases(
        self,
        file: Path,
        replay_case: Callable[[Case], Replayed],
        lines: Callable[[Iterable[Replayed]], Iterator[str]],
    ) -> None:
        replayed = [_replayed(case, replay_case) for case in _cases_in(file)]
        for line in lines(replayed):
            self.stdout.write(line)
        wrong = [case.id for case in replayed if not case.agrees]
        if wrong:
            raise CommandError(f"{len(wrong)} of {len(replayed)} cases differ: {', '.join(wrong)}.")
        self.stdout.write(f"All {len(replayed)} cases come out as expected.")

    def _traces(self, inputs: Path, traces: Path) -> None:
        try:
            found = differences(inputs, traces)
        except (OSError, *UNREADABLE) as error:
            raise CommandError(f"The traces cannot be replayed: {_told(error)}.") from error
        self.stdout.write(f"{'column':<16} {'rows':>6} {'largest difference':>19}  where")
        for one in found:
            self.stdout.write(f"{one.column:<16} {one.rows:>6} {one.largest:>19.2e}  {one.where}")
        wide = [one.column for one in found if not one.agrees]
        if wide:
            raise CommandError(f"More than {TOLERANCE:g} apart: {', '.join(wide)}.")
        self.stdout.write(f"Every column agrees within {TOLERANCE:g}.")


def _cases_in(file: Path) -> list[Case]:
    """Return the cases of a file, refusing in a sentence what is not a list of cases."""
    try:
        document = json.loads(file.read_text(encoding="utf-8-sig"))
    except OSError as error:
        raise CommandError(f"{_told(error)}.") from error
    except ValueError as error:
        raise CommandError(f"{file} is not JSON in UTF-8: {error}.") from error
    cases = document.get("cases") if isinstance(document, dict) else None
    if not isinstance(cases, list) or not cases:
        raise CommandError(f'{file} holds no cases; it must be an object with a list named "cases".')
    return cases


def _replayed(case: Case, replay_case: Callable[[Case], Replayed]) -> Replayed:
    try:
        replayed = replay_case(case)
        replayed.differences  # noqa: B018 - an "expected" that holds no fields shows here
    except UNREADABLE as error:
        named = case.get("id", "without an id") if isinstance(case, dict) else repr(case)
        raise CommandError(f"Case {named} cannot be read: {_told(error)}.") from error
    return replayed


def _told(error: BaseException) -> str:
    if isinstance(error, OSError):
        return f"{error.filename} cannot be read: {error.strerror}"
    if isinstance(error, KeyError):
        return f"it has no {error.args[0]!r}" if error.args else "something is missing"
    return (str(error) or type(error).__name__).rstrip(".")


def rest_lines(replayed: Iterable[Replayed]) -> Iterator[str]:
    """Yield a line of figures for each case, and one for every further field and every difference."""
    line = "{:<5} {:<20} {:>9} {:>9} {:>9}  {:<15} {:<15} {:<8} {}"
    yield line.format("case", "rule", "measured", "required", "margin", "expected", "got", "", "title")
    for case in replayed:
        rule = case.rule_id if isinstance(case, rest.Replayed) else ""
        told = (_found(case.expected), _found(case.got), _verdict(case.agrees), case.title)
        yield line.format(case.id, rule, *_figures(case.got), *told)
        yield from _fields(case, FIGURES)


def plain_lines(replayed: Iterable[Replayed]) -> Iterator[str]:
    """Yield every case by its title with every expected field under it."""
    for case in replayed:
        yield f"{case.id:<5} {_verdict(case.agrees):<8} {case.title}"
        yield from _fields(case, frozenset())


def _fields(case: Replayed, in_the_line: frozenset[str]) -> Iterator[str]:
    if case.skipped:
        yield f"      not computed: {case.skipped}"
        return
    for name, value in case.expected.items():
        differs = name in case.differences
        if differs or name not in in_the_line:
            word = "  DIFFERS" if differs else ""
            yield f"      {name}: expected {_shown(value)}, got {_shown(case.got.get(name, 'nothing'))}{word}"


def _verdict(agrees: bool) -> str:
    return "same" if agrees else "DIFFERS"


def _figures(fields: Case) -> list[str]:
    required = fields.get("required_h", fields.get("required_max_h"))
    return [_hours(value) for value in (fields.get("measured_h"), required, fields.get("margin_h"))]


def _found(fields: Case) -> str:
    """Return what was measured and whether it keeps the rule."""
    kept = {True: "kept", False: "broken"}.get(fields.get("compliant", None), "")
    return f"{_hours(fields.get('measured_h'))} {kept}".rstrip()


def _hours(value: Any) -> str:
    return f"{value:.4f}".rstrip("0").rstrip(".") if isinstance(value, int | float) else "-"


def _shown(value: Any) -> str:
    return f"{value:.6g}" if isinstance(value, float) else json.dumps(value, default=str)
