"""A run that touches the first or the last day may go on outside, unless what was before is known."""

import pytest

from rotas.builder.cost import cost_of
from tests.rotas.builder.core.small import person, problem, roster_of
from tests.rotas.builder.core.test_hard_rules_by_one import solver_allows


@pytest.mark.parametrize(
    ("limits", "row", "kept"),
    [
        ({"least_in_a_row": 3}, "D....", True),
        ({"least_in_a_row": 3}, "....D", True),
        ({"least_in_a_row": 3}, ".D...", False),
        ({"least_in_a_row": 3}, "...D.", False),
        ({"least_off": 3}, ".DDDD", True),
        ({"least_off": 3}, "DDDD.", True),
        ({"least_off": 3}, "D.DDD", False),
        ({"least_off": 3}, "DDD.D", False),
        ({"least_in_a_row": 3, "before": (None,)}, "D....", False),
        ({"least_in_a_row": 3, "before": (None,)}, "DDD..", True),
        ({"least_in_a_row": 3, "before": ("D",)}, "D....", True),  # it may have begun earlier
        ({"least_in_a_row": 3, "before": (None, "D")}, "DD...", True),
        ({"least_in_a_row": 3, "before": (None, "D", None)}, ".....", True),  # the last rota's own fault
        ({"least_off": 3, "before": ("D",)}, ".DDDD", False),
        ({"least_off": 3, "before": ("D", None, None)}, ".DDDD", True),
        ({"most_in_a_row": 3, "before": ("D", "D", "D")}, "D....", False),
        ({"most_in_a_row": 3, "before": ("D", "D", "D", "D")}, ".DDD.", True),
    ],
)
def test_runs_at_the_edges(limits: dict, row: str, kept: bool) -> None:
    asked = problem(person(**limits), days=5)
    assert (cost_of(asked, roster_of(Ada=row)).broken == ()) is kept
    assert solver_allows(asked, Ada=row) is kept
