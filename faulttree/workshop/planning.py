"""How a plan of numbered steps comes about: it grows where it loses most, and what is of least use is taken out.

It begins with repairs one by one and help at their end. Again and again the edge that loses most, against knowing the
cause, gets the best step that there is for what comes along it: one that the advice's rule would take, or one of those
that do best with the later steps as they are. Edges are led to whichever later step is best for what comes along them,
so that ways join. Grown beyond its room it is cut back, by what a step saves for its lines, and so again and again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from faulttree.advice.advisor import Round
from faulttree.advice.choice import Choice, State, Step
from faulttree.belief.likelihood import Floats
from faulttree.workshop.plan import END, HELP, START, Edge, Flow, Plan
from faulttree.workshop.room import Room
from faulttree.workshop.ways import Behind

BREATHS = (1.7, 1.3)
"""A plan is grown to so many times its room and cut back, one after another."""

AT_ONCE, MOST_ROUNDS = 5, 40
"""Edges that get a step between two times at which it is worked out anew what comes along all of them; rounds."""

LEAST_GAIN = 0.02
"""Minutes of cost that an edge must lose to be looked at."""

LEAST_CHANCE, LIKELY_ENOUGH = 0.002, 0.15
"""Chance from which a repair is tried at all, and after a check that speaks for it."""

TRIED_CHECKS, TRIED_ACTS = 3, 2
"""Steps besides the rule's that are looked at closely for an edge."""

Told = Callable[[str], None]


@dataclass(frozen=True)
class Option:
    """A step that could stand in a place: what comes along costs so much by it if it leads to these."""

    worth: float
    step: Step
    to: tuple[int, ...]


def grown(round_: Round, room: float, told: Told = lambda words: None) -> Plan:
    """A plan that takes at most so many lines."""
    plan = Plan(round_)
    gardener = Gardener(plan)
    gardener.seed()
    for times in BREATHS:
        gardener.grow(times * room, told)
        gardener.cut_back(room, told=told)
    gardener.improve()
    return plan


class Gardener:
    """Grows one plan and cuts it back."""

    def __init__(self, plan: Plan) -> None:
        self.plan, self.job, self.play, self.facts = plan, plan.job, plan.round.play, plan.facts
        self.room = Room(plan)

    # -- growing ---------------------------------------------------------------------------------------

    def seed(self) -> None:
        """Repairs one by one by falling chance per minute, each shown to be wanted where it has to be, then help."""
        plan = self.plan
        choice = self.play.choice(plan.round.state)
        worth = np.where(choice.helps > LEAST_CHANCE, choice.helps / np.maximum(choice.act_minutes, 1.0), 0.0)
        order = [a for a in np.argsort(-worth, kind="stable").tolist() if worth[a] > 0]
        groups: dict[int, list[int]] = {}
        for a in order:
            able = [c for c in range(len(self.job.checks)) if self.facts.to_show[a] & 1 << c]
            shows = min(able, key=lambda c: (choice.table.check_minutes[c], c), default=~a)
            groups.setdefault(shows, []).append(a)
        following = HELP
        for shows, acts in reversed(groups.items()):
            for a in reversed(acts):
                following = plan.add(Step("act", a), [END, following]) if shows < 0 else following
            if shows >= 0:
                following = self._shown_and_tried(shows, acts, following)
        plan.lead(START, following)
        self.lead_anew()

    def _shown_and_tried(self, c: int, acts: list[int], following: int) -> int:
        """A check, with what has to come before it, then the repair that fits what it shows; else what follows."""
        plan = self.plan
        tried = [plan.add(Step("act", a), [END, following]) for a in acts]
        shown = self.job.shown[:, self.job.first[c] : self.job.first[c + 1]] * self.job.weights[:, None]
        to = []
        for o in range(shown.shape[1]):
            chances = self.job.cures[acts] @ shown[:, o] / max(float(shown[:, o].sum()), 1e-12)
            best = int(chances.argmax())
            to.append(tried[best] if chances[best] > LIKELY_ENOUGH else following)
        number = plan.add(Step("check", c), to)
        before = [b for b in sorted(self._all_before(c)) if b != c]
        for b in reversed(before):
            number = plan.add(Step("check", b), [number] * len(self.job.checks[b].outcomes))
        return number

    def _all_before(self, c: int) -> set[int]:
        found: set[int] = set()
        for b in range(len(self.job.checks)):
            if self.facts.after[c] & 1 << b:
                found |= {b} | self._all_before(b)
        return found

    def grow(self, room: float, told: Told = lambda words: None) -> None:
        """Add steps where most is lost, until they take so many lines."""
        plan, tried = self.plan, set[Edge]()
        for _ in range(MOST_ROUNDS):
            if self.room.taken() >= room:
                break
            _, edges = plan.looked_over()
            behind = plan.behind()
            open_edges = [edge for edge in self._by_loss(edges) if edge not in tried][:AT_ONCE]
            if not open_edges:
                break
            for edge in open_edges:
                tried.add(edge)
                self._put_in(edge, edges[edge], _past(plan, edge, behind))
            told(f"{len(plan.nodes)} steps")
        self.lead_anew()

    def _by_loss(self, edges: dict[Edge, Flow]) -> list[Edge]:
        lost = {}
        for edge, flow in edges.items():
            to = self.plan.target(edge)
            if to != END:
                lost[edge] = self.plan.worth(flow, to) - self._floor(flow)
        return sorted((e for e in lost if lost[e] > LEAST_GAIN), key=lambda e: (-lost[e], e))

    def _floor(self, flow: Flow) -> float:
        return sum(float(self.job.sums(w) @ self.job.floors(story.standing)) for story, w in flow.items())

    def _put_in(self, edge: Edge, flow: Flow, past: Behind) -> None:
        """The best step put into an edge where one saves something; else what the rule would do, for what follows."""
        plan, later = self.plan, self._later(edge)
        now, led = self._best(flow, past, later)
        plan.lead(edge, led)
        ruled, others = self._ruled(flow, past), self._promising(flow, past, later)
        options = list(self._options([*([ruled] if ruled else []), *others], flow, past, later))
        best = min(options, key=lambda o: (o.worth, o.step), default=None)
        if best is None or best.worth > now - LEAST_GAIN:
            best = next((o for o in options if o.step == ruled), None)
        if best is not None:
            plan.lead(edge, plan.add(best.step, list(best.to)))

    def _options(self, steps: Sequence[Step], flow: Flow, past: Behind, later: Sequence[int]) -> Iterator[Option]:
        for step in dict.fromkeys(steps):
            option = self._option(step, flow, past, later)
            if option is not None:
                yield option

    def _option(self, step: Step, flow: Flow, past: Behind, later: Sequence[int]) -> Option | None:
        """A step with the best later step for each of its outcomes; None where it may not stand here."""
        facts = self.facts
        if facts.wants(step) & ~past.sure or past.barring & facts.barred(step):
            return None
        spent = self.plan.spent(step, flow)
        if spent is None:
            return None
        to = [END] if step.kind == "act" else []
        for o, leaves in self.plan.leaving(step, flow):
            worth, best = self._best(leaves, facts.past(step, o, past), later)
            spent += worth
            to.append(best)
        return Option(spent, step, tuple(to))

    def _best(self, flow: Flow, past: Behind, among: Sequence[int]) -> tuple[float, int]:
        """The later step that is best for what comes along, and what it costs by that."""
        plan = self.plan
        if not flow:
            return 0.0, HELP
        worth, best = plan.worth(flow, HELP), HELP
        for n in among:
            if n != HELP and plan.allowed(past, n):
                total = plan.worth(flow, n)
                if total < worth - 1e-9:
                    worth, best = total, n
        return worth, best

    def _later(self, edge: Edge) -> list[int]:
        """The steps to which an edge may lead without a ring."""
        plan = self.plan
        if edge == START:
            return plan.order()
        return [n for n in plan.order() if not plan.onward(n).nodes & 1 << edge[0]]

    # -- which step ------------------------------------------------------------------------------------

    def _ruled(self, flow: Flow, past: Behind) -> Step | None:
        """What the rule would do with what comes along an edge; None where it would call for help, or cannot go on."""
        story = max(flow, key=lambda s: (float(flow[s].sum()), sorted(s.standing), s.known))
        weights = np.sum(list(flow.values()), axis=0)
        total = float(weights.sum())
        if total <= 0:
            return None
        done = frozenset(c for c in range(len(self.job.checks)) if story.known & self.facts.outcomes_of[c])
        ever = frozenset(c for c in range(len(self.job.checks)) if past.sure & 1 << c)
        choice = self._open(self.play.choice(State(weights / total, story.standing, (), done, ever | done)), past)
        step = choice.step
        if step.kind == "help":
            step = self._lifting(past)
            if step.kind == "help":
                return None
        return self._first(step, past, choice)

    def _open(self, choice: Choice, past: Behind) -> Choice:
        """The rule's view with what was tried, or is barred by what was found, left out."""
        facts, n = self.facts, self.facts.n_checks
        checks = np.array([not past.barring & against for against in facts.checks_barred], dtype=np.bool_)
        acts = np.array(
            [not past.barring & against and not past.known & 1 << (n + a)
             for a, against in enumerate(facts.actions_barred)], dtype=np.bool_,
        )  # fmt: skip
        return choice if checks.all() and acts.all() else self.play.rule.only(choice, checks, acts)

    def _lifting(self, past: Behind) -> Step:
        """A check that can lift what bars the way; help where there is none."""
        facts = self.facts
        for finding in (f for f in facts.bars if past.barring & 1 << f):
            own = next(c for c, columns in enumerate(facts.outcomes_of) if columns & 1 << finding)
            for c in sorted(facts.lifts[finding] or {own}):
                step = Step("check", c)
                if not past.barring & facts.barred(step):
                    return step
        return Step("help")

    def _first(self, step: Step, past: Behind, choice: Choice) -> Step | None:
        """The step itself, or what has to come before it."""
        facts = self.facts
        if step.kind == "act" and facts.wants(step) & ~past.sure:
            # Done on some ways only: whoever did it already takes what it showed.
            able = [c for c in range(facts.n_checks) if facts.to_show[step.place] & 1 << c]
            step = Step("check", min(able, key=lambda c: (not past.may & 1 << c, choice.table.check_minutes[c], c)))
        while step.kind == "check" and facts.after[step.place] & ~past.sure:
            missing = facts.after[step.place] & ~past.sure
            step = Step("check", (missing & -missing).bit_length() - 1)
        return step if not past.barring & facts.barred(step) else None

    def _promising(self, flow: Flow, past: Behind, later: Sequence[int]) -> list[Step]:
        """The checks and repairs that do best if the later steps follow, roughly: all taken to be in one standing."""
        plan, job = self.plan, self.job
        story = max(flow, key=lambda s: (float(flow[s].sum()), sorted(s.standing), s.known))
        weights: Floats = np.sum(list(flow.values()), axis=0)
        table = plan.tables.at(story.standing, ())
        usable = [n for n in later if plan.allowed(past, n)] or [HELP]
        joint = weights[:, None] * job.shown
        rough = np.full(len(job.checks), np.inf)
        for k, after in enumerate(table.after):
            here = [
                c for c in range(len(job.checks)) if table.check_after[c] == k and self._fits(Step("check", c), past)
            ]
            if here:
                values = np.array([plan.value(n, after) for n in usable])
                columns = [int(job.first[c]) + o for c in here for o in range(len(job.checks[c].outcomes))]
                best = np.nan_to_num(values @ joint[:, columns], nan=np.inf).min(axis=0)
                at = np.cumsum([0, *(len(job.checks[c].outcomes) for c in here)])[:-1]
                rough[here] = table.check_minutes[here] * weights.sum() + np.add.reduceat(best, at)
        known = [c for c in range(len(job.checks)) if story.known & self.facts.outcomes_of[c]]
        rough[known] = np.inf
        checks = [
            Step("check", int(c)) for c in np.argsort(rough, kind="stable")[:TRIED_CHECKS] if np.isfinite(rough[c])
        ]
        chance = (job.helps @ weights) / np.maximum(table.action_minutes, 1.0)
        acts = [Step("act", int(a)) for a in np.argsort(-chance, kind="stable")[:TRIED_ACTS] if chance[a] > 0]
        return [*checks, *(step for step in acts if self._fits(step, past))]

    def _fits(self, step: Step, past: Behind) -> bool:
        if step.kind == "act" and past.known & self.facts.bit(step):
            return False
        return not self.facts.wants(step) & ~past.sure and not past.barring & self.facts.barred(step)

    # -- improving -------------------------------------------------------------------------------------

    def lead_anew(self) -> None:
        """Every edge to the later step that is best for what comes along it, from the last step to the first."""
        plan = self.plan
        plan.drop_unreached()
        _, edges = plan.looked_over()
        behind, order = plan.behind(), plan.order()
        for place in range(len(order) - 1, -1, -1):
            n = order[place]
            later = order[place + 1 :]
            for o, t in enumerate(plan.nodes[n].to):
                if t != END and edges[n, o]:
                    past = self.facts.past(plan.nodes[n].step, o, behind[n])
                    plan.lead((n, o), self._past_the_known(past, self._best(edges[n, o], past, later)[1]))
            self._lead_the_unseen(n, behind[n], edges)
        plan.lead(START, self._best(edges[START], Behind(), order)[1])
        plan.drop_unreached()

    def _past_the_known(self, past: Behind, to: int) -> int:
        """Where a way leads from a repair that it has surely tried before."""
        plan = self.plan
        while to != HELP and plan.nodes[to].step.kind == "act" and past.known & self.facts.bit(plan.nodes[to].step):
            to = plan.nodes[to].to[1]
        return to

    def _lead_the_unseen(self, n: int, before: Behind, edges: dict[Edge, Flow]) -> None:
        """An outcome that nothing can show where it stands goes with another one, if it may."""
        plan, node = self.plan, self.plan.nodes[n]
        seen = [t for o, t in enumerate(node.to) if t != END and edges[n, o]]
        for o, t in enumerate(node.to):
            if t != END and not edges[n, o]:
                past = self.facts.past(node.step, o, before)
                plan.lead((n, o), next((s for s in seen if plan.allowed(past, s)), HELP))

    def improve(self) -> None:
        """Every step to the one that is best in its place, from the last to the first."""
        plan = self.plan
        arriving, _ = plan.looked_over()
        behind, order = plan.behind(), plan.order()
        for place in range(len(order) - 1, -1, -1):
            n = order[place]
            if n == HELP or not arriving[n]:
                continue
            later, flow, past = order[place + 1 :], arriving[n], behind[n]
            now = plan.worth(flow, n)
            for option in self._options(self._promising(flow, past, later), flow, past, later):
                if option.worth < now - LEAST_GAIN:
                    now = option.worth
                    plan.alter(n, option.step, list(option.to))
        self.lead_anew()

    # -- cutting back ----------------------------------------------------------------------------------

    def cut_back(self, room: float, steps: int | None = None, told: Told = lambda words: None) -> None:
        """Take out what saves least for its lines until the rest takes no more than so many, and so many steps."""
        plan = self.plan
        plan.drop_unreached()
        while len(lines := self.room.lines()) > 1 and self._over(lines, room, steps) > 0:
            aim, gone = max(self._over(lines, room, steps) / 3.0, 0.5), 0.0
            for n in self._least_useful(lines):
                if n in plan.nodes and gone < aim:
                    gone += lines[n]
                    self._take_out(n)
            self.lead_anew()
            told(f"{len(plan.nodes)} steps")

    def _over(self, lines: dict[int, float], room: float, steps: int | None) -> float:
        taken = sum(lines.values())
        over = len(lines) - steps if steps is not None else 0
        return max(taken - room, over * taken / len(lines))

    def _least_useful(self, lines: dict[int, float]) -> list[int]:
        plan = self.plan
        _, edges = plan.looked_over()
        behind = plan.behind()
        loss = dict.fromkeys((n for n in plan.order() if n != HELP), 0.0)
        for edge, flow in edges.items():
            to = plan.target(edge)
            if to in loss:
                loss[to] += self._instead(edge, flow, behind, to)[0] - plan.worth(flow, to)
        return sorted(loss, key=lambda n: (loss[n] / lines[n], n))

    def _instead(self, edge: Edge, flow: Flow, behind: dict[int, Behind], without: int) -> tuple[float, int]:
        plan = self.plan
        among = [n for n in self._later(edge) if not plan.onward(n).nodes & 1 << without]
        return self._best(flow, _past(plan, edge, behind), among)

    def _take_out(self, n: int) -> None:
        plan = self.plan
        _, edges = plan.looked_over()
        behind = plan.behind()
        for edge, flow in edges.items():
            if plan.target(edge) == n:
                plan.lead(edge, self._instead(edge, flow, behind, n)[1])
                behind = plan.behind()
        plan.drop_unreached()


def _past(plan: Plan, edge: Edge, behind: dict[int, Behind]) -> Behind:
    return Behind() if edge == START else plan.facts.past(plan.nodes[edge[0]].step, edge[1], behind[edge[0]])
