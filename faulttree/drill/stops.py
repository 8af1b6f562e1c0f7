"""What the drill stops: all that the advisor would never offer as things stand, told by what the book says of it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from faulttree.advice.barring import bars
from faulttree.advice.cautions import in_order
from faulttree.advice.steps import Steps
from faulttree.belief import Evidence
from faulttree.book.model import Action, Check, Condition
from faulttree.case import CaseState
from faulttree.case.closing import keeps_open
from faulttree.drill.acts import Act, Stop
from faulttree.drill.bench import Bench
from faulttree.errors import BadCase, BadCondition


class Guard:
    """Judges what a learner is about to do, by the state of the job and what is known of it so far.

    ``own`` is whether they have repaired anything.
    """

    def __init__(self, bench: Bench, state: CaseState, own: bool, evidence: Evidence) -> None:
        self.bench, self.state, self.own, self.practice = bench, state, own, bench.practice
        self.evidence = evidence
        self.book, self.moves = bench.book, bench.advisor.moves
        self.situation = state.situation(self.book)
        floor = bench.advisor.floor(state.proofs(self.book))
        self.steps = Steps(self.book, bench.advisor.gates, floor, self.situation, state.reported)

    def stop(self, act: Act) -> Stop | None:
        """Why an act is stopped, None where it may go on. Raises BadCase for one that names nothing of the book."""
        try:
            return next(self._stops(act), None)
        except KeyError as problem:
            raise BadCase(f"this book has nothing called {problem.args[0]!r} for that") from problem

    def _stops(self, act: Act) -> Iterator[Stop]:
        if act.kind == "tempted":
            trap = self.bench.practice.temptations[act.id]
            yield Stop("never", trap.could, trap.cautions, danger=True)
        elif act.kind == "opening":
            if act.id in self.state.opening:
                yield Stop("nothing", "That was asked before.")
        elif act.kind == "set-up":
            yield from self._set_up(self.book.conditions[act.id])
        elif act.kind == "restore":
            yield from self._restore(self.book.conditions[act.id])
        elif act.kind == "check":
            yield from self._check(self.book.checks[act.id])
        elif act.kind == "repair":
            yield from self._repair(self.book.actions[act.id])
        elif act.kind == "finish":
            yield from self._finish()

    # -- conditions ------------------------------------------------------------------------------------

    def _set_up(self, condition: Condition) -> Iterator[Stop]:
        standing, listed = self.state.standing, self.book.conditions
        if condition.id in standing:
            yield Stop("nothing", f"{condition.name}: stands already.")
        if not condition.proposed:
            yield Stop(
                "never", f"{condition.name}: never to look for a fault.", self._serious(condition.cautions), True
            )
        yield from self._unasked()
        yield from self._wanted_first((condition.id,))
        missing = [c for c in listed if c in self.moves.closure((condition.id,)) and c not in (*standing, condition.id)]
        if missing:
            harmless = self.practice.harmless_to_lack.issuperset(missing)
            reason = f"{condition.name} wants first: {self._names(missing)}."
            yield self._order(reason, [condition.id, *missing], harmless)
        against = [
            c for c in listed if c in standing and (condition.id in listed[c].excludes or c in condition.excludes)
        ]
        if against:
            harmless = condition.id in self.practice.harmless_to_do
            reason = f"{condition.name} never together with: {self._names(against)}."
            yield self._order(reason, [condition.id, *against], harmless)
        barring = [c for c in listed if c in standing and c in condition.not_while]
        if barring:
            yield self._order(
                f"{condition.name}: not while this stands: {self._names(barring)}.", [*barring, condition.id]
            )
        yield from self._barred((condition.id,), condition.name, condition.cautions)

    def _restore(self, condition: Condition) -> Iterator[Stop]:
        standing, listed = self.state.standing, self.book.conditions
        if condition.id not in standing:
            yield Stop("nothing", f"{condition.name}: does not stand.")
        resting = [c for c in listed if c in standing and condition.id in listed[c].implies]
        if resting:
            harmless = condition.id in self.practice.harmless_to_lack
            reason = f"{condition.name} has to stand as long as this does: {self._names(resting)}."
            yield self._order(reason, resting, harmless)
        barring = [c for c in listed if c in standing and c in condition.not_while]
        if barring:
            yield self._order(f"{condition.name}: not while this stands: {self._names(barring)}.", barring)

    def _order(self, reason: str, conditions: Sequence[str], harmless: bool = False) -> Stop:
        told = self._serious(c for name in conditions for c in self.book.conditions[name].cautions)
        return self._stop("order", reason, told, not harmless)

    def _stop(self, kind: str, reason: str, cautions: tuple[str, ...], could_hurt: bool) -> Stop:
        """Unsafe where it could have hurt and a WARNING says how; else no caution is held up to anybody."""
        if could_hurt and any(map(self.bench.warns, cautions)):
            return Stop(kind, reason, cautions, danger=True)
        return Stop(kind, reason)

    def _unasked(self) -> Iterator[Stop]:
        """Nothing is touched before it is known how the aircraft stands."""
        for question in self.book.opening:
            if question.id not in self.state.opening:
                told = self._serious(c for answer in question.answers for c in answer.cautions)
                yield Stop("opening", f"Nobody has asked yet: {question.ask}", told, danger=bool(told))

    def _wanted_first(self, needs: Sequence[str]) -> Iterator[Stop]:
        """What the answers of the opening want before all else, in its order."""
        first = self.state.first(self.book)
        on = self.moves.move(self.state.standing, first).on if first else ()
        if on and self._comes_late(on, needs):
            told = self._serious([*self._of_opening(), *self.book.conditions[on[0]].cautions])
            yield Stop("opening", f"Before all else, by what was answered: {self._names(on)}.", told, danger=True)

    def _comes_late(self, on: Sequence[str], needs: Sequence[str]) -> bool:
        """Whether what is wanted before all else comes before these in the order in which things are set up."""
        try:
            order = self.moves.move(self.state.standing, (*on, *needs)).on
        except BadCondition:
            return True
        places = [order.index(c) for c in needs if c in order]
        return not places or any(order.index(c) < min(places) for c in on)

    def _of_opening(self) -> list[str]:
        given = self.state.opening
        return [c for q in self.book.opening for a in q.answers if given.get(q.id) == a.id for c in a.cautions]

    def _barred(self, needs: Iterable[str], name: str, cautions: Iterable[str]) -> Iterator[Stop]:
        """What was found speaks against it."""
        wanted = self.moves.closure(tuple(needs))
        for barred, lifts in bars(self.book, self.situation.shown):
            hit = [c for c in self.book.conditions if c in barred and c in wanted]
            if hit:
                check = self.book.checks[lifts]
                told = self._serious([*cautions, *(c for h in hit for c in self.book.conditions[h].cautions)])
                reason = f"{name}: what was found speaks against it until this shows well: {check.name}."
                yield Stop("barred", reason, told, danger=True)

    # -- steps -----------------------------------------------------------------------------------------

    def _check(self, check: Check) -> Iterator[Stop]:
        if not check.proposed:
            yield Stop("never", f"{check.name}: never to look for a fault.", self._serious(check.cautions), True)
        before = [name for name in check.after if name not in self.state.ever_done]
        if before:
            names = ", ".join(self.book.checks[name].name for name in before)
            yield self._stop("exposed", f"{check.name} comes after: {names}.", self._serious(check.cautions), True)
        if check.kind != "ask" or check.needs:
            yield from self._hands_on(check)
        if check.proof and not self.own:
            yield Stop("nothing", f"{check.name} proves a repair. Nothing was repaired by you yet.")

    def _repair(self, action: Action) -> Iterator[Stop]:
        if action.once and action.id in self.state.actions:
            yield Stop("never", f"{action.name}: never a second time.", self._serious(action.cautions), danger=True)
        if self.situation.owed and not self.steps.owes_what_cannot_be() and not self._may_wait():
            due = self.book.checks[self.situation.owed[0]].name
            yield Stop("owed", f"The last repair is not proved yet. Due first: {due}.")
        wanted = [self.book.checks[name] for name in action.after_any if name not in self.state.done]
        wanted = [check for check in wanted if check.proposed and not self.steps.barred(check)]
        measured = self.situation.ever.intersection(action.after_any)
        if wanted and not measured and not self.situation.found.intersection(action.corrects):
            names = "; ".join(check.name for check in wanted[:3])
            reason = f"{action.name}: nothing has shown that yet. First one of: {names}."
            # A good part replaced costs money; what is set unmeasured, a lock switch or a breaker, may hurt somebody.
            yield self._stop("unmeasured", reason, self._serious(action.cautions), not action.parts)
        yield from self._hands_on(action)

    def _may_wait(self) -> bool:
        """Whether the advisor himself would repair on before he proves: the proof would as good as surely fail."""
        belief = self.bench.believer.believe(self.evidence)
        return not self.bench.advisor.advise(belief, self.situation, ahead=False, words=False).suggestions[0].owed

    def _hands_on(self, item: Check | Action) -> Iterator[Stop]:
        """Whether all that makes a step safe stands, and nothing that makes it dangerous."""
        yield from self._unasked()
        yield from self._wanted_first(())
        try:
            move = self.moves.move(self.state.standing, item.needs)
        except BadCondition as problem:
            yield Stop("nothing", f"{item.name}: {problem}")
            return
        if move.off or move.on:
            yield self._exposed(item, move.off, move.on)
        yield from self._barred(item.needs, item.name, item.cautions)

    def _exposed(self, item: Check | Action, off: Sequence[str], on: Sequence[str]) -> Stop:
        listed, own = self.book.conditions, self._serious(item.cautions)
        parts = [f"put back {listed[c].name}" for c in off] + [f"set up {listed[c].name}" for c in on]
        wanted = ", ".join(f"{number} {part}" for number, part in enumerate(parts, 1))
        lacking = set(on).difference(off, self.practice.harmless_to_lack)
        could_hurt = bool(lacking) or any(listed[c].hazard for c in off)
        # What hangs on the missing condition and on little else says what would happen here.
        harmful = [*(c for c in on if c in lacking), *(c for c in off if listed[c].hazard)]
        first = sorted((c for name in harmful for c in listed[name].cautions), key=self.bench.how_common.__getitem__)
        told = self._serious([*first, *own, *(c for name in (*off, *on) for c in listed[name].cautions)])
        return self._stop("exposed", f"{item.name} wants first: {wanted}.", told, could_hurt)

    def _finish(self) -> Iterator[Stop]:
        if not self.own or not self.state.proved(self.book):
            told = self._serious(c for proof in self._proofs() for c in proof.cautions)
            yield Stop(
                "never", "No repair of yours with a passed proof after it: the squawk is not proved gone.", told, True
            )
        reasons = [
            reason for reason in keeps_open(self.book, self.state) if "still stands" in reason or "follow-up" in reason
        ]
        if reasons:
            yield Stop("owed", f"Not yet: {reasons[0]}" + (f", and {len(reasons) - 1} more." if reasons[1:] else "."))

    def _proofs(self) -> list[Check]:
        return [self.book.checks[name] for name in self.state.proofs(self.book)]

    def _serious(self, cautions: Iterable[str]) -> tuple[str, ...]:
        """WARNINGs and CAUTIONs among these, each once, WARNINGs first."""
        return tuple(c for c in in_order(self.book, cautions) if self.bench.binds(c))

    def _names(self, conditions: Iterable[str]) -> str:
        return ", ".join(self.book.conditions[c].name for c in conditions)
