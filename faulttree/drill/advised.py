"""The advisor works the same drill, by the same rules, on the same gear: what a learner's path is held against."""

from __future__ import annotations

from collections import OrderedDict
from typing import TypeVar

from faulttree.advice import Advice, Situation, Suggestion, ToGo
from faulttree.belief import Belief, Evidence
from faulttree.drill.acts import Act, Told
from faulttree.drill.bench import Bench
from faulttree.drill.drawing import Setting
from faulttree.drill.play import Play

KEPT = 4000
"""Moments whose advice is kept: drills of one symptom share most of theirs."""

Key = TypeVar("Key")


class Advised:
    """The advisor as a learner. It asks first what has to be known first, then does what stands first."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self._promises: dict[tuple[Evidence, Situation], ToGo | None] = {}
        self._steps: OrderedDict[tuple[Evidence, Situation], Suggestion | None] = OrderedDict()

    def belief(self, evidence: Evidence) -> Belief:
        """What the advisor believes."""
        return self.bench.believer.believe(evidence)

    def promise(self, play: Play) -> ToGo | None:
        """The minutes that the quick choice foretells from here."""
        key = play.evidence, play.situation
        if key not in self._promises:
            self._promises[key] = self.bench.advisor.advise(self.belief(key[0]), key[1]).to_go
        return self._promises[key]

    def step(self, play: Play) -> Suggestion | None:
        """What stands first now, by the quick choice; None where nothing does."""
        key = play.evidence, play.situation
        if key not in self._steps:
            self._steps[key] = _first(self.bench.advisor.advise(self.belief(key[0]), key[1], ahead=False))
            if len(self._steps) > KEPT:
                self._steps.popitem(last=False)
        return self._steps[key]

    def work(self, setting: Setting) -> Play:
        """The whole drill worked by the advisor."""
        play = Play(self.bench, setting)
        for question in self.bench.book.opening:
            play.take(Act("opening", question.id))
        while not play.ended:
            self.go_on(play)
        return play

    def go_on(self, play: Play) -> list[Told]:
        """One step with all that it restores and sets up; the end, where the squawk is proved gone."""
        state = play.state
        if play.repairs and state.proved(play.book) and not state.owed(play.book):
            return [play.take(Act("restore-all")), play.take(Act("finish"))]
        step = self.step(play)
        if step is None or step.kind == "help":
            return [play.take(Act("help"))]
        acts = [Act("restore", name) for name in step.to_restore] + [Act("set-up", name) for name in step.to_set_up]
        acts.append(Act("repair" if step.kind == "act" else "check", step.id))
        done = [play.take(self._knowing(play, act)) for act in acts if not play.ended]
        play.whys[len(play.acts) - 1] = step.why
        return done

    def _knowing(self, play: Play, act: Act) -> Act:
        """An act with the cautions that apply, and the follow-ups that are due."""
        quiz = play.quiz(act)
        due = play.due_after(act.id) if act.kind == "repair" else ()
        return Act(act.kind, act.id, () if quiz is None else quiz.true, follow_up=due)


def _first(advice: Advice) -> Suggestion | None:
    return advice.suggestions[0] if advice.suggestions else None
