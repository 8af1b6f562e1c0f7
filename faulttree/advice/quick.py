"""The quick choice: bits per net minute, with calling in help as the way out.

Net minutes of a step are its cost plus the change it makes in the floor. The best ratio of bits to net minutes
prices what is still unknown. Every step is valued as floor + its net minutes + what is left unknown at that price, or
at the price of trying one repair after another where that is cheaper. After Pattipati and Alexandridis (IEEE Trans.
SMC 20(4), 1990) and Heckerman, Breese and Rommelse (Communications of the ACM 38(3), 1995), on minutes that know what
stands already.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from faulttree.advice import cautions
from faulttree.advice.floor import Floor
from faulttree.advice.hypotheses import Hypotheses, entropy, repair_only
from faulttree.advice.play import Play, reported
from faulttree.advice.progress import proofs_of
from faulttree.advice.situation import Advice, Figures, OutcomeAhead, Situation, Suggestion, ToGo
from faulttree.advice.why import explain
from faulttree.belief import Belief
from faulttree.belief.likelihood import Floats
from faulttree.book.model import THE_SQUAWK, Action, Book, Check
from faulttree.conditions import Moves
from faulttree.errors import BadCondition
from faulttree.graph.gates import Gates

LEAST_NET_MINUTES = 0.5
LEAST_BITS = 0.03
"""A step that tells less moves no cause by more than a per cent or two: not worth the interruption."""

HELP_SLACK = 1.25
LEAST_CHANCE = 0.01
MOST_ACTIONS = 8
SURE = 2 / 3
LOOKED_AHEAD = 10
WORTHWHILE = 0.02
"""Chance of success from which a repair is as good as certain; how many checks are then looked at one step ahead; the
share of the job that such a check must save (rates are known to a factor of two, smaller savings mean nothing)."""

MOST_COMPANIONS = 6
OVERLAP = 0.85
MOST_TOLD = 0.9
"""Companions of a check that shares its set-up: how many, how much less each tells, and what they tell at most."""


@dataclass(frozen=True, slots=True)
class _Option:
    """A step with what it tells and costs: ``bits``, ``net`` minutes, and the suggestion without its value.

    ``alone`` is what it costs where all it needs stands already, ``needs`` what that is, ``after`` what stands then,
    ``cost`` what it costs from here, ``split`` the group weights by outcome (n_groups + 1, n_outcomes).
    """

    suggestion: Suggestion
    bits: float
    net: float
    alone: float = 0.0
    needs: frozenset[str] = frozenset()
    after: frozenset[str] = frozenset()
    cost: float = 0.0
    split: Floats | None = None


class Advisor:
    """Advises on one book with one shop's figures. What it keeps between calls is a cache."""

    def __init__(self, book: Book, figures: Figures | None = None) -> None:
        self.book = book
        self.figures = figures or Figures.from_defaults(book.defaults)
        self.moves = Moves(book.conditions)
        self.gates = Gates(book)
        self._floors: dict[tuple[str, ...], Floor] = {}
        self._below: dict[str, frozenset[str]] = {}

    def advise(self, belief: Belief, situation: Situation) -> Advice:
        """Suggestions, best first. Raises nothing for a sound book; an impossible need is simply not suggested."""
        return _Round(self, Play(belief), situation).advice()

    def looks_at(self, check: Check) -> frozenset[str]:
        """Faults below any outcome of a check: where none of them is in play it tells nothing."""
        if check.id not in self._below:
            names = [o.when for o in check.outcomes if o.when and o.when != THE_SQUAWK]
            self._below[check.id] = frozenset[str]().union(*(self.gates.below(name) for name in names))
        return self._below[check.id]

    def floor(self, proofs: tuple[str, ...]) -> Floor:
        """The floor for a job that ends by these proofs."""
        if proofs not in self._floors:
            self._floors[proofs] = Floor(self.book, self.moves, self.figures, proofs)
        return self._floors[proofs]


class _Round:
    """One call of the advisor."""

    def __init__(self, advisor: Advisor, play: Play, situation: Situation) -> None:
        self.advisor, self.book, self.play, self.situation = advisor, advisor.book, play, situation
        self.moves = advisor.moves
        space = play.frame.space
        self.in_play = {space.faults[space.mode_fault[mode]] for mode in np.unique(play.modes) if mode >= 0}
        proofs = proofs_of(self.book, reported(play))
        self.floor = advisor.floor(proofs)
        self.hypotheses = Hypotheses(play, self.floor)
        self.floors_now = self.hypotheses.floors(situation.standing)
        self.floor_now = float(self.hypotheses.weights @ self.floors_now)
        self.unknown = entropy(self.hypotheses.weights)
        self.repairs_only = repair_only(self.hypotheses, self.hypotheses.weights, situation.standing)

    def advice(self) -> Advice:
        options = [*self._shared_set_ups([*self._checks()]), *self._actions()]
        worth = [o for o in options if o.bits > LEAST_BITS and not o.suggestion.owed]
        best = max((o.bits / max(o.net, LEAST_NET_MINUTES) for o in worth), default=None)
        valued = self._after_sure_repair(options, [self._valued(o, best) for o in options])
        valued.append(self._help())
        valued.sort(key=self._order)
        return Advice(tuple(self._with_savings(valued)), self._to_go(best))

    def _order(self, suggestion: Suggestion) -> tuple[int, float, str]:
        """Owed follow-ups as they are due, then by minutes. Help has to be the cheaper by a quarter to lead.

        What is still unknown is priced as if every bit cost as much as the first ones, which is too much; and help can
        be called at any time later.
        """
        due = self.situation.owed.index(suggestion.id) if suggestion.owed else len(self.situation.owed)
        slack = HELP_SLACK if suggestion.kind == "help" else 1.0
        return due, slack * suggestion.expected_minutes, suggestion.id

    def _shared_set_ups(self, options: list[_Option]) -> Iterator[_Option]:
        """Options that set something up, valued with the best of those that can then be done without more.

        A set-up is seldom made for one check: with the floor out and the gear on jacks several follow for their own
        minutes alone. Each further check counts for less, since it partly tells the same.
        """
        standing = self.situation.standing
        for option in options:
            yield self._with_companions(option, options, standing) if option.after != standing else option

    def _with_companions(self, option: _Option, options: list[_Option], standing: frozenset[str]) -> _Option:
        others = [
            o for o in options
            if o is not option and o.needs <= option.after and not o.needs <= standing and o.bits > LEAST_BITS
        ]  # fmt: skip
        others.sort(key=lambda o: o.alone / o.bits)
        best, bits, net = option, option.bits, option.net
        most = MOST_TOLD * self.unknown
        for place, other in enumerate(others[:MOST_COMPANIONS], 1):
            bits, net = bits + OVERLAP**place * other.bits, net + other.alone
            told = min(bits, most)
            if told / max(net, LEAST_NET_MINUTES) > best.bits / max(best.net, LEAST_NET_MINUTES):
                best = replace(option, bits=told, net=net)
        return best

    def _after_sure_repair(self, options: list[_Option], valued: list[Suggestion]) -> list[Suggestion]:
        """Where one repair is as good as certain, a check comes before it only if it pays on its own.

        It pays if, with its cost, trying repairs in the order that each of its outcomes suggests is cheaper than
        trying them in the order suggested now (one step of looking ahead).
        """
        sure = [s for s in valued if s.kind == "act" and (s.chance or 0.0) >= SURE]
        if not sure:
            return valued
        then = min(s.expected_minutes for s in sure)
        looked_at = sorted(range(len(valued)), key=lambda i: valued[i].expected_minutes)[:LOOKED_AHEAD]
        pays = {i for i in looked_at if self._pays(options[i])}
        return [
            s if s.kind == "act" or i in pays else replace(s, expected_minutes=max(s.expected_minutes, then + o.cost))
            for i, (o, s) in enumerate(zip(options, valued, strict=True))
        ]

    def _pays(self, option: _Option) -> bool:
        if option.split is None:
            return False
        after = sum(repair_only(self.hypotheses, column, option.after) for column in option.split.T)
        return option.cost + after < (1.0 - WORTHWHILE) * self.repairs_only

    def _valued(self, option: _Option, best: float | None) -> Suggestion:
        left = max(self.unknown - option.bits, 0.0)
        share = left / self.unknown if self.unknown > 0 else 0.0
        search = min(left / best if best else np.inf, share * max(self.repairs_only - self.floor_now, 0.0))
        expected = self.floor_now + max(option.net, 0.0 if option.bits > LEAST_BITS else option.net) + search
        return replace(option.suggestion, expected_minutes=expected, bits=option.bits)

    def _with_savings(self, valued: list[Suggestion]) -> Iterator[Suggestion]:
        for i, suggestion in enumerate(valued):
            others = [s.expected_minutes for j, s in enumerate(valued) if j != i]
            saves = min(others) - suggestion.expected_minutes if others else 0.0
            settled = replace(suggestion, saves_minutes=saves)
            yield replace(settled, why=explain(self.book, settled, self.situation))

    def _to_go(self, best: float | None) -> ToGo:
        weights = self.hypotheses.weights
        there = weights > 0
        prices = [1.0 / best] if best else []
        if self.unknown > 0:
            prices.append(max(self.repairs_only - self.floor_now, 0.0) / self.unknown)
        surprise = -np.log2(weights[there]) * min(prices, default=0.0)
        minutes = np.minimum(self.floors_now[there] + surprise, self.advisor.figures.help)
        order = np.argsort(minutes, kind="stable")
        reached = np.cumsum(weights[there][order])
        half, most = (float(minutes[order][min(int(np.searchsorted(reached, q)), len(order) - 1)]) for q in (0.5, 0.8))
        return ToGo(float(weights[there] @ minutes), half, most)

    # -- checks ----------------------------------------------------------------------------------------

    def _checks(self) -> Iterator[_Option]:
        for check in self.book.checks.values():
            owed = check.id in self.situation.owed
            if not owed and (check.proof or not check.proposed or check.id in self.situation.done):
                continue
            if not owed and not self.advisor.looks_at(check) & self.in_play:
                continue
            option = self._check(check, owed)
            if option and (owed or option.bits > LEAST_BITS):
                yield option

    def _check(self, check: Check, owed: bool) -> _Option | None:
        first = self._first_missing(check)
        if first is not None and first is not check and self._check(first, False) is None:
            return None
        columns = self.play.columns(check)
        joint = self.play.weights[:, None] * columns
        by_group = np.column_stack([self.hypotheses.sums(joint[:, o]) for o in range(columns.shape[1])])
        told = entropy(by_group.sum(axis=0)) + entropy(self.hypotheses.weights) - entropy(by_group.reshape(-1))
        outcomes = self._outcomes_ahead(check, joint)
        wanted = first or check
        costed = self._costed(check, wanted)
        if costed is None:
            return None
        suggestion, cost, after = costed
        alone = self.floor.of_work(check)
        needs = self.moves.closure(check.needs)
        net = cost + float(self.hypotheses.weights @ (self.hypotheses.floors(after) - self.floors_now))
        shown = outcomes if wanted is check else ()
        return _Option(
            replace(suggestion, outcomes=shown, owed=owed), max(told, 0.0), net, alone, needs, after, cost, by_group
        )

    def _first_missing(self, check: Check) -> Check | None:
        for name in check.after:
            if name not in self.situation.done:
                return self._first_missing(self.book.checks[name]) or self.book.checks[name]
        return None

    def _costed(self, check: Check, wanted: Check) -> tuple[Suggestion, float, frozenset[str]] | None:
        """The step, its whole cost with prerequisites, and what stands after it; None if it cannot be done here."""
        suggestion = self._step("ask" if wanted.kind == "ask" else "check", wanted)
        if suggestion is None:
            return None
        cost, standing = 0.0, self.situation.standing
        for part in (*self._missing(check), check):
            try:
                minutes, standing = self.floor.step(standing, part, self._first(part))
            except BadCondition:
                return None
            cost += minutes
        leads = check.id if wanted is not check else None
        return replace(suggestion, leads_to=leads), cost, standing

    def _missing(self, check: Check) -> list[Check]:
        found: dict[str, Check] = {}
        for name in check.after:
            if name not in self.situation.done:
                for part in (*self._missing(self.book.checks[name]), self.book.checks[name]):
                    found[part.id] = part
        return list(found.values())

    def _outcomes_ahead(self, check: Check, joint: Floats) -> tuple[OutcomeAhead, ...]:
        chances, tops = joint.sum(axis=0), self.play.likeliest(joint)
        return tuple(
            OutcomeAhead(outcome.id, outcome.label, float(chance), top)
            for outcome, chance, top in zip(check.outcomes, chances, tops, strict=True)
        )

    # -- actions ---------------------------------------------------------------------------------------

    def _actions(self) -> Iterator[_Option]:
        if self.situation.owed:
            return
        chances = []
        for action in self.book.actions.values():
            cured = self._cured(action)
            chance = float(self.play.weights[:-1][cured].sum()) * action.effective
            if chance > LEAST_CHANCE:
                chances.append((chance / self.floor.of_work(action) if action.minutes else chance, action, cured))
        chances.sort(key=lambda item: (-item[0], item[1].id))
        for _, action, cured in chances[:MOST_ACTIONS]:
            option = self._action(action, cured)
            if option is not None:
                yield option

    def _corrects(self, action: Action) -> np.ndarray:
        space = self.play.frame.space
        fixable = np.zeros(len(space.mode_fault) + 1, dtype=np.bool_)
        for fault in action.corrects:
            if fault in space.place:
                fixable[:-1] |= space.mode_fault == space.place[fault]
        return fixable

    def _cured(self, action: Action) -> np.ndarray:
        """Rows in which something stands and this action corrects all of it."""
        stands = self.play.modes >= 0
        covered = (self._corrects(action)[self.play.modes] | ~stands).all(axis=1) & stands.any(axis=1)
        return np.asarray(covered)

    def _action(self, action: Action, cured: np.ndarray) -> _Option | None:
        step = self._step("act", action)
        if step is None:
            return None
        standing = self.situation.standing
        cost, after = self.floor.step(standing, action, self.situation.first)
        proving, after = self.floor.proving(after, [action.id])
        left = np.where(self._corrects(action)[self.play.modes], -1, self.play.modes)
        passes_if_done, passes_if_not = self._passes(left), self._passes(self.play.modes)
        weights, e = self.play.weights[:-1], action.effective
        passed = weights * (e * passes_if_done + (1 - e) * passes_if_not)
        still = weights * (e * passes_if_done * (left >= 0).any(axis=1) + (1 - e) * passes_if_not)
        unlisted = float(self.play.weights[-1] * self._passes_unlisted())
        chance = float(passed.sum()) + unlisted
        after_fail = np.append(weights - passed, self.play.weights[-1] - unlisted)
        floors = self.hypotheses.floors(after)
        rest = float(self.hypotheses.sums(after_fail) @ floors)
        rest += chance * self.floor.restoring(after) + (float(still.sum()) + unlisted) * self.advisor.figures.comeback
        net = cost + proving + rest - self.floor_now
        success = float(weights[cured].sum()) * e
        if cost + proving > success * self.advisor.figures.help:
            return None
        bits = self.unknown - (1.0 - chance) * entropy(self.hypotheses.sums(np.maximum(after_fail, 0.0)))
        return _Option(replace(step, chance=success), max(min(bits, self.unknown), 0.0), net)

    def _passes(self, modes: np.ndarray) -> Floats:
        """Chance that every proof of the job passes on rows with these standing modes, shape (n,)."""
        chance: Floats = np.ones(len(modes))
        for name in self.floor.proofs:
            check = self.book.checks[name]
            chance = chance * self.play.proof_columns(check, modes)[:, -1]
        return chance

    def _passes_unlisted(self) -> float:
        chance = 1.0
        for name in self.floor.proofs:
            chance *= float(self.play.unlisted_column(self.book.checks[name])[0, -1])
        return chance

    # -- what a step takes -----------------------------------------------------------------------------

    def _first(self, item: Check | Action) -> tuple[str, ...]:
        """Conditions owed before anything but a question."""
        return () if isinstance(item, Check) and item.kind == "ask" else self.situation.first

    def _step(self, kind: str, item: Check | Action) -> Suggestion | None:
        """The step with its set-ups, people, equipment and cautions; None where that is not to be had."""
        try:
            move = self.moves.move(self.situation.standing, (*item.needs, *self._first(item)))
        except BadCondition:
            return None
        touched = [self.book.conditions[c] for c in move.on]
        if not all(condition.proposed for condition in touched):
            return None
        stands = [self.book.conditions[c] for c in sorted(self.moves.closure(item.needs))]
        people = max([item.people, *(c.people for c in (*touched, *stands))])
        equipment = tuple(dict.fromkeys([*item.equipment, *(e for c in touched for e in c.equipment)]))
        if self.situation.people is not None and people > self.situation.people:
            return None
        if self.situation.lacking & set(equipment):
            return None
        conditions = [*move.off, *move.on, *(c.id for c in stands if c.id not in move.on)]
        if isinstance(item, Check):
            shown = cautions.of_check(self.book, self.advisor.gates, item, conditions, reported(self.play))
        else:
            shown = cautions.of_action(self.book, item, conditions, reported(self.play))
        return Suggestion(
            kind=kind, id=item.id, name=item.name, expected_minutes=0.0, minutes_now=move.minutes + item.minutes,
            people=people, waits=move.waits + item.waits, equipment=equipment, needs=item.needs,
            to_set_up=move.on, to_restore=move.off, cautions=shown,
        )  # fmt: skip

    def _help(self) -> Suggestion:
        return Suggestion(
            kind="help", id="help", name="Call in a specialist",
            expected_minutes=self.advisor.figures.help, minutes_now=self.advisor.figures.help,
        )  # fmt: skip
