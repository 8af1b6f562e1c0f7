"""A better step that is found while somebody reads is told of, and takes no one's place unasked."""

from __future__ import annotations

from dataclasses import replace

import pytest

from faulttree.advice import Advice, Budget, Situation
from faulttree.belief import Belief
from faulttree.case import CaseState
from faulttree.dialogue import Dialogue, Prompt
from tests.support.small_family import small_book
from tests.unit.dialogue.at_the_board import state, view


@pytest.fixture
def looked_ahead(monkeypatch: pytest.MonkeyPatch) -> tuple[Dialogue, CaseState, Prompt]:
    """The main screen as it was read, and the dialogue after another step turned out better than the one on it."""
    dialogue = Dialogue(small_book())
    now = state(dialogue.book)

    def refined(belief: Belief, situation: Situation, budget: Budget) -> Advice:
        first, second, *others = dialogue.advisor.advise(belief, situation, ahead=False).suggestions
        better = replace(second, expected_minutes=first.expected_minutes - 10)
        return Advice((better, first, *others), None, refined=True)

    monkeypatch.setattr(dialogue.advisor, "refine", refined)
    read = view(dialogue, now, "")
    assert dialogue.refine(now, lambda: False)
    return dialogue, now, read


def test_the_step_that_is_read_stays(looked_ahead: tuple[Dialogue, CaseState, Prompt]) -> None:
    """The same question with the same answers under the same keys."""
    dialogue, now, read = looked_ahead
    after = view(dialogue, now, "")
    assert (after.about, after.title, after.choices) == (read.about, read.title, read.choices)


def test_one_line_tells_of_the_better_step(looked_ahead: tuple[Dialogue, CaseState, Prompt]) -> None:
    """With its key, which is there only then."""
    dialogue, now, read = looked_ahead
    after = view(dialogue, now, "")
    assert after.lines == ("Looked further ahead: another step is better now. g shows it.",)
    assert ["g" in [c.key for c in asked.commands] for asked in (read, after)] == [False, True]


def test_g_shows_it(looked_ahead: tuple[Dialogue, CaseState, Prompt]) -> None:
    """From then on it is the step proposed, and nothing more is told of it."""
    dialogue, now, read = looked_ahead
    better = dialogue.thinking.better(now)
    assert better is not None
    dialogue.accept(now, view(dialogue, now, ""), "show-better")
    shown = view(dialogue, now, "")
    assert (shown.about, shown.lines) == (better.id, ())
    assert shown.about != read.about


def test_why_says_what_the_better_one_saves(looked_ahead: tuple[Dialogue, CaseState, Prompt]) -> None:
    """The step on the screen is no longer the best, and that is not called about the same."""
    dialogue, now, _ = looked_ahead
    assert any("About 10 min less" in line for line in view(dialogue, now, "why").lines)
