"""Expected minutes of jobs worked by one book's advice where another book says how likely each answer is.

No gear is drawn: a job branches at each check into all that it may show, by the belief of the ``true`` book in what was
found so far. From what is less likely than ``cut`` on the rest is what the advisor of the true book foretells, whoever
worked the job so far: two advices are told apart by what they do where it matters, and by no noise. What they would go
on to do differently in unlikely states is left out, so that of two advices the worse one comes out too well.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from faulttree.advice import Advisor, Situation, Suggestion
from faulttree.belief import Believer, Evidence
from faulttree.book.model import Book
from tests.jobs.every_fault import gear_with
from tests.jobs.gear import Job, Modes
from tests.jobs.run import MOST_STEPS, Log, Player

LEAST = 1e-9
"""Outcomes less likely than this never come."""


@dataclass
class AllWays:
    """Follows the advice of ``player`` through the squawks of ``true``. ``seen`` counts the states looked at."""

    player: Player
    true: Book
    cut: float
    seen: int = 0

    def __post_init__(self) -> None:
        self._truth, self._best = Believer(self.true, self.player.believer.size_limit), Advisor(self.true)
        self._steps: dict[tuple[Evidence, Situation], Suggestion] = {}

    def minutes(self, symptom: str) -> float:
        """Expected minutes on the clock of a job with this squawk, and what squawks that come back cost."""
        book = self.player.book
        opening = {q.id: next(a.id for a in q.answers if not a.first) for q in book.opening}
        gear = gear_with(self.true, symptom, Modes(), np.random.default_rng(0))  # never looked at
        log = Log(book, Job(0, symptom, gear, None, frozenset(), opening))
        return self._from(log, 1.0, 0)

    def _from(self, log: Log, chance: float, steps: int) -> float:
        """The same from where a log stands, ``chance`` being how likely it is to come there."""
        self.seen += 1
        player, spent = self.player, log.minutes
        situation = log.situation()
        if chance < self.cut:
            to_go = self._best.advise(self._truth.believe(log.state.beliefs()), situation).to_go
            assert to_go is not None
            return to_go.mean
        step = self._first(log.state.beliefs(), situation)
        assert steps < MOST_STEPS, f"does not end: {log.entries[-5:]}"
        if step.kind == "help":
            return step.minutes_now
        if step.kind == "act":
            player.prepare(log, step, situation)
            log.add("did", action=step.id)
            return log.minutes - spent + self._from(log, chance, steps + 1)
        ways = list(self._ways(log, step.id))
        player.prepare(log, step, situation)
        minutes = log.minutes - spent
        for outcome, weight in ways:
            after = log.fork()
            after.add("answer", check=step.id, outcome=outcome, sure=True)
            rest = self._end(after) if after.proved() else self._from(after, chance * weight, steps + 1)
            minutes += weight * rest
        return minutes

    def _first(self, evidence: Evidence, situation: Situation) -> Suggestion:
        """The first step of the quick choice; what was seen before is not worked out again."""
        key = (evidence, situation)
        if key not in self._steps:
            belief = self.player.believer.believe(evidence)
            found = self.player.advisor.advise(belief, situation, ahead=False, words=False)
            self._steps[key] = found.suggestions[0]
        return self._steps[key]

    def _ways(self, log: Log, check: str) -> Iterator[tuple[str, float]]:
        """The outcomes that may come, each with its probability."""
        outcomes = [outcome.id for outcome in self.true.checks[check].outcomes]
        chances = np.array(self._truth.believe(log.state.beliefs()).outcomes(check))
        chances = np.where(chances < LEAST, 0.0, chances)
        chances /= chances.sum()
        yield from ((o, float(p)) for o, p in zip(outcomes, chances, strict=True) if p > 0.0)

    def _end(self, log: Log) -> float:
        """What is put back, and what a cause costs that still stands behind a passed proof."""
        belief, spent = self._truth.believe(log.state.beliefs()), log.minutes
        log.move(self.player.advisor.moves.restore_all(log.state.standing).off, ())
        stands = belief.unlisted + float(belief.rows[(belief.replay.modes >= 0).any(axis=1)].sum())
        return log.minutes - spent + self.player.book.defaults.comeback * stands
