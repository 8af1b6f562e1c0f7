"""In what order things are set up around an open line and a tagged breaker."""

from __future__ import annotations

from pathlib import Path

import pytest

from faulttree.book import read_book
from faulttree.conditions import Moves

SHIPPED = Path(__file__).parents[2] / "knowledge"


@pytest.mark.parametrize(
    ("family", "runs", "line_open", "stands"),
    [
        ("power-pack", "gear-on-pack-power", "gauge-on-up-line", {"on-jacks", "pressure-bled", "motor-breaker-pulled"}),
        ("engine-driven", "cart-running", "gauge-in-pressure-line", {"on-jacks", "system-bled"}),
    ],
)
def test_a_gauge_goes_into_a_line_without_pressure_and_with_the_pump_locked_out(
    family: str, runs: str, line_open: str, stands: set[str]
) -> None:
    """Pressure let off and tag on first, gauge in, and only then what can bring pressure back.

    Common practice, no source.
    """
    book = read_book([SHIPPED], family).book
    assert book is not None
    moves = Moves(book.conditions)
    start = moves.check_standing({"secured", *stands})
    order = [step.condition for step in moves.step_by_step(start, moves.move(start, [runs, line_open]))]
    locked_out = stands - {"on-jacks"}
    assert order.index(line_open) < min(order.index(name) for name in locked_out)
    assert max(order.index(name) for name in locked_out) < order.index(runs)
