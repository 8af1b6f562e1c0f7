"""A plain job as a book, so that the program's own belief and advice can be asked what to do in it."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from faulttree.advice import Advice, Advisor, Figures, Situation
from faulttree.belief import Believer, Did, Evidence, Reported, plain
from faulttree.belief.frame import Frame
from faulttree.book.model import THE_SQUAWK, Action, Book, Check, Event, Fault, Outcome
from tests.jobs.model import HELP, Job, Policy, State, Step
from tests.support.books import condition, make_book, symptom

Asked = Callable[[Advisor, "Weighted", Evidence, Situation], Advice]


def quick(advisor: Advisor, believer: Weighted, evidence: Evidence, situation: Situation) -> Advice:
    """The quick choice."""
    return advisor.advise(believer.believe(evidence), situation, ahead=False)


def refined(advisor: Advisor, believer: Weighted, evidence: Evidence, situation: Situation) -> Advice:
    """The refined choice."""
    return advisor.refine(believer.believe(evidence), situation, ahead=False)


class Weighted(Believer):
    """Belief that begins with the weights of the job instead of the product of the faults' own priors."""

    def __init__(self, book: Book, job: Job) -> None:
        pairs = max(len(h.faults) for h in job.hypotheses)
        super().__init__(book, size_limit=pairs)
        self._listed = {h.faults: h.weight for h in job.hypotheses}
        self._unlisted = job.unlisted

    def frame(self, evidence: Evidence, also: Sequence[str] = ()) -> Frame:
        """The usual frame, its sets weighed as the job says."""
        frame = super().frame(evidence, also)
        space = frame.space
        weights = []
        for modes in frame.base.padded():
            there = [int(mode) for mode in modes if mode >= 0]
            named = ((int(space.faults[space.mode_fault[m]][1:]), bool(space.sleeps[m])) for m in there)
            weights.append(self._listed.get(frozenset(named), 0.0))
        given = np.array(weights)
        with np.errstate(divide="ignore"):
            frame.log_given = np.log(given)
        frame.given = given / given.sum()
        frame.log_total = float(np.log(given.sum()))
        frame.log_unlisted = float(np.log(self._unlisted)) if self._unlisted else -np.inf
        return frame


def as_book(job: Job) -> Book:
    """The job's faults ``f0`` …, checks ``c0`` …, repairs ``r0`` … and conditions ``n0`` … as a book."""
    faults, actions = [], []
    for i, fault in enumerate(job.faults):
        share = 0.35 if fault.shows < 1.0 else 0.0
        faults.append(Fault(f"f{i}", f"f{i}", None, f"f{i}", rate=0.1, share=share, shows=fault.shows))
        actions.append(Action(f"r{i}", f"r{i}", (f"f{i}",), 1.0, fault.repair, needs=_named(fault.needs)))
    events = [Event("squawk", "squawk", "any_of", tuple(fault.id for fault in faults))]
    checks = []
    for i, check in enumerate(job.checks):
        events.append(Event(f"e{i}", f"e{i}", "any_of", tuple(f"f{f}" for f in sorted(check.looks_at))))
        outcomes = (Outcome("bad", "bad", f"e{i}", check.detects), Outcome("fine", "fine", None, 1.0))
        checks.append(
            Check(
                f"c{i}", f"c{i}", "test", "now", outcomes, check.false_alarm, check.minutes,
                needs=_named(check.needs), after=tuple(f"c{b}" for b in check.after),
            )
        )  # fmt: skip
    shown = (Outcome("squawk", "squawk", THE_SQUAWK, job.proof.detects), Outcome("gone", "gone", None, 1.0))
    checks.append(
        Check("proof", "proof", "test", "now", shown, 0.0, job.proof.minutes, needs=_named(job.proof.needs), proof=True)
    )
    conditions = [
        condition(
            f"n{i}", one.set_up, one.restore,
            implies=_named(one.implies), excludes=_named(one.excludes), not_while=_named(one.not_while),
        )
        for i, one in enumerate(job.conditions)
    ]  # fmt: skip
    return make_book(faults, events, [symptom("s", "squawk", unlisted=job.unlisted)], checks, actions, conditions)


def figures(job: Job) -> Figures:
    """The job's help and comeback; minutes alone count."""
    return Figures(care=0.0, wait_weight=0.0, help=job.help, comeback=job.comeback)


def advised(job: Job, ask: Asked, believed: Job | None = None) -> Policy:
    """The policy of following the program's advice; ``believed`` is the job as the advisor takes it to be."""
    told = believed or job
    advisor = asked_for(told)
    book, believer = advisor.book, Weighted(advisor.book, told)
    known: dict[tuple[object, ...], Step] = {}

    def policy(state: State) -> Step:
        if state.history not in known:
            evidence, situation = where(book, state)
            known[state.history] = first_step(ask(advisor, believer, evidence, situation))
        return known[state.history]

    return policy


def asked_for(job: Job) -> Advisor:
    """An advisor on the job as a book, with the job's figures."""
    return Advisor(as_book(job), figures(job))


def first_step(advice: Advice) -> Step:
    """What the advice proposes to do next."""
    first = advice.suggestions[0]
    return _step(first.kind, first.id, first.also)


def where(book: Book, state: State) -> tuple[Evidence, Situation]:
    """What belief and advice are told of a state."""
    entries: list[object] = [Reported("s")]
    for event in state.history:
        if event[0] == "check":
            entries.append(plain(book, f"c{event[1]}", "bad" if event[2] == 0 else "fine"))
        else:
            entries += [Did(f"r{event[1]}"), plain(book, "proof", "squawk")]
    situation = Situation(
        standing=frozenset(f"n{c}" for c in state.standing),
        done=frozenset(f"c{i}" for i in state.done),
        ever=frozenset(f"c{i}" for i in state.ever_done),
        acted=bool(state.repaired),
    )
    return Evidence(tuple(entries)), situation  # type: ignore[arg-type] # entries of several kinds


def _named(conditions: Sequence[int]) -> tuple[str, ...]:
    return tuple(f"n{c}" for c in conditions)


def _step(kind: str, name: str, also: Sequence[str]) -> Step:
    if kind == "help":
        return HELP
    word = "repair" if kind == "act" else "check"
    return (word, int(name[1:]), *(int(c[1:]) for c in also))  # type: ignore[return-value] # one of the step's shapes
