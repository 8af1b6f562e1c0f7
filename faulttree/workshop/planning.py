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
from faulttree.advice.choice import Choice, State
from faulttree.belief.likelihood import Floats
from faulttree.workshop.plan import END, HELP, START, Edge, Flow, Past, Plan, Story
from faulttree.workshop.room import Room
from faulttree.workshop.ways import Behind, Step

BREATHS = (1.5, 1.25)
"""A plan is grown to so many times its room and cut back, one after another."""

POLISHED = 2
"""So often a plan that was cut back is improved, each time cut back again where that took room."""

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
    """A plan that takes at most so many lines: the best that was met."""
    plan = Plan(round_)
    gardener = Gardener(plan)
    gardener.seed()
    best, kept = np.inf, (plan.copied(), plan.root)
    for times in BREATHS:
        gardener.grow(times * room, told)
        gardener.improve()
        for _ in range(POLISHED):
            gardener.cut_back(room, told=told)
            worth = plan.whole()
            if worth < best:
                best, kept = worth, (plan.copied(), plan.root)
            gardener.improve()
    plan.restore(*kept)
    return plan


class Gardener:
    """Grows one plan and cuts it back."""

    def __init__(self, plan: Plan) -> None:
        self.plan, self.job, self.play, self.facts = plan, plan.job, plan.round.play, plan.facts
        self.room = Room(plan)

    # -- growing ---------------------------------------------------------------------------------------

    def seed(self) -> None:
        """Repairs one by one, then help; before them the same for the leg that a question names, where one does."""
        plan = self.plan
        choice = self.play.choice(plan.round.state)
        following = self._one_by_one(choice, HELP, 0)
        for c in self._that_name_legs(choice):
            names = self.facts.names_leg[self.facts.first[c] : self.facts.first[c + 1]]
            legged = self._one_by_one(choice, following, next(leg for leg in names if leg))
            following = plan.add(Step("check", c), [legged if leg else following for leg in names])
        plan.lead(START, following)
        self.lead_anew()

    def _that_name_legs(self, choice: Choice) -> list[int]:
        """The check that names a leg in its outcomes and tells most for its minutes; none where none does."""
        ratio, first = choice.check_ratio, self.facts.first
        able = [c for c in range(len(ratio)) if any(self.facts.names_leg[first[c] : first[c + 1]]) and ratio[c] > 0]
        return sorted(able, key=lambda c: (-float(ratio[c]), c))[:1]

    def _one_by_one(self, choice: Choice, following: int, leg: int) -> int:
        """Repairs by falling chance per minute, each shown to be wanted where it has to be; of one leg if named."""
        facts = self.facts
        worth = np.where(choice.helps > LEAST_CHANCE, choice.helps / np.maximum(choice.act_minutes, 1.0), 0.0)
        order = [a for a in np.argsort(-worth, kind="stable").tolist() if worth[a] > 0]
        if leg:
            order = [a for a in order if len(facts.of_leg.get(("act", a), {})) == len(facts.legs)]
            order = [a for a in order if facts.for_any_leg(Step("act", a), leg)]
        groups: dict[int, list[int]] = {}
        for a in order:
            able = [c for c in range(len(self.job.checks)) if facts.to_show[a] & 1 << c]
            shows = min(able, key=lambda c: (choice.table.check_minutes[c], c), default=~a)
            groups.setdefault(shows, []).append(a)
        for shows, acts in reversed(groups.items()):
            for a in reversed(acts):
                following = self._add("act", a, leg, [END, following]) if shows < 0 else following
            if shows >= 0:
                following = self._shown_and_tried(shows, acts, following, leg)
        return following

    def _add(self, kind: str, place: int, leg: int, to: list[int]) -> int:
        step = Step(kind, place)
        return self.plan.add((self.facts.for_any_leg(step, leg) if leg else None) or step, to)

    def _shown_and_tried(self, c: int, acts: list[int], following: int, leg: int) -> int:
        """A check, with what has to come before it, then the repair that fits what it shows; else what follows."""
        tried = [self._add("act", a, leg, [END, following]) for a in acts]
        shown = self.job.shown[:, self.job.first[c] : self.job.first[c + 1]] * self.job.weights[:, None]
        to = []
        for o in range(shown.shape[1]):
            chances = self.job.cures[acts] @ shown[:, o] / max(float(shown[:, o].sum()), 1e-12)
            best = int(chances.argmax())
            to.append(tried[best] if chances[best] > LIKELY_ENOUGH else following)
        number = self._add("check", c, leg, to)
        before = [b for b in sorted(self._all_before(c)) if b != c]
        for b in reversed(before):
            number = self._add("check", b, leg, [number] * len(self.job.checks[b].outcomes))
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
                if self._led_better(edge, edges[edge], _past(plan, edge, behind)):
                    continue
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

    def _led_better(self, edge: Edge, flow: Flow, past: Past) -> bool:
        """Whether there is a better later step by now, to which the edge is led."""
        before = self.plan.worth(flow, self.plan.target(edge))
        worth, to = self._best(flow, past, self._later(edge))
        if worth < before - LEAST_GAIN:
            self.plan.lead(edge, to)
            return True
        return False

    def _put_in(self, edge: Edge, flow: Flow, past: Past) -> None:
        """The best step put into an edge where one saves something; else what the rule would do, for what follows."""
        plan, later = self.plan, self._later(edge)
        now = plan.worth(flow, plan.target(edge))
        story = _heaviest(flow)
        ruled = self._ruled(flow, story, past[story.leg])
        wanted = [*([ruled] if ruled else []), *self._promising(flow, story, past, later)]
        options = list(self._options(wanted, flow, past, later))
        best = min(options, key=lambda o: (o.worth, o.step), default=None)
        if best is None or best.worth > now - LEAST_GAIN:
            best = next(
                (o for o in options if ruled and (o.step.kind, self._same(o.step, ruled)) == (ruled.kind, True)), None
            )
        if best is not None:
            plan.lead(edge, plan.add(best.step, list(best.to)))

    def _same(self, step: Step, other: Step) -> bool:
        places = self.facts.of_leg.get((step.kind, step.place), {}).values() if step.legged else (step.place,)
        return other.place in places

    def _options(self, steps: Sequence[Step], flow: Flow, past: Past, later: Sequence[int]) -> Iterator[Option]:
        """The steps with the best ways on; one of the leg that was noted as one for whichever leg was, if it can be."""
        leg = _heaviest(flow).leg
        for step in dict.fromkeys(steps):
            any_leg = self.facts.for_any_leg(step, leg) if leg else None
            option = None if any_leg is None else self._option(any_leg, flow, past, later)
            option = option or self._option(step, flow, past, later)
            if option is not None:
                yield option

    def _option(self, step: Step, flow: Flow, past: Past, later: Sequence[int]) -> Option | None:
        """A step with the best later step for each of its outcomes; None where it may not stand here."""
        for leg, behind in past.items():
            done = self.facts.on(step, leg)
            if done is None or not self._may_stand(done, behind):
                return None
        spent = self.plan.spent(step, flow)
        if spent is None:
            return None
        to = [END] if step.kind == "act" else []
        for o, leaves in self.plan.leaving(step, flow):
            worth, best = self._best(leaves, self.plan.past(step, o, past), later)
            spent += worth
            to.append(best)
        return Option(spent, step, tuple(to))

    def _may_stand(self, step: Step, behind: Behind) -> bool:
        return not self.facts.wants(step) & ~behind.sure and not behind.barring & self.facts.barred(step)

    def _best(self, flow: Flow, past: Past, among: Sequence[int]) -> tuple[float, int]:
        """The later step that is best for what comes along, and what it costs by that."""
        plan = self.plan
        if not flow:
            return 0.0, HELP
        worth, best = plan.worth(flow, HELP), HELP
        for n in among:
            if n != HELP and plan.allowed(past, n):
                total = plan.worth(flow, n, worth)
                if total < worth - 1e-9:
                    worth, best = total, n
        return worth, best

    def _later(self, edge: Edge) -> list[int]:
        """The steps to which an edge may lead without a ring."""
        plan = self.plan
        if edge == START:
            return plan.order()
        return [n for n in plan.order() if not plan.reach(n) & 1 << edge[0]]

    # -- which step ------------------------------------------------------------------------------------

    def _ruled(self, flow: Flow, story: Story, past: Behind) -> Step | None:
        """What the rule would do with what comes along an edge; None where it would call for help, or cannot go on."""
        weights = np.sum(list(flow.values()), axis=0)
        total = float(weights.sum())
        if total <= 0:
            return None
        done = frozenset(c for c in range(len(self.job.checks)) if story.known & self.facts.outcomes_of[c])
        ever = frozenset(c for c in range(len(self.job.checks)) if past.sure & 1 << c)
        choice = self._open(self.play.choice(State(weights / total, story.standing, (), done, ever | done)), past)
        step = Step(choice.step.kind, choice.step.place)
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

    def _promising(self, flow: Flow, story: Story, past: Past, later: Sequence[int]) -> list[Step]:
        """The checks and repairs that do best if the later steps follow, roughly: all taken to be in one standing."""
        plan, job = self.plan, self.job
        behind = past[story.leg]
        weights: Floats = np.sum(list(flow.values()), axis=0)
        table = plan.tables.at(story.standing, ())
        usable = [n for n in later if plan.allowed(past, n)] or [HELP]
        joint = weights[:, None] * job.shown
        rough = np.full(len(job.checks), np.inf)
        for k, after in enumerate(table.after):
            here = [
                c
                for c in range(len(job.checks))
                if table.check_after[c] == k and self._may_stand(Step("check", c), behind)
            ]
            if here:
                values = np.array([plan.value(n, after, story.leg) for n in usable])
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
        return [*checks, *(step for step in acts if self._fits(step, behind))]

    def _fits(self, step: Step, past: Behind) -> bool:
        if step.kind == "act" and past.known & self.facts.bit(step):
            return False
        return self._may_stand(step, past)

    # -- improving -------------------------------------------------------------------------------------

    def _for_any_leg(self, n: int, flow: Flow, past: Past) -> None:
        """A step of the leg that is noted on every way becomes one for whichever leg is: other ways may join it."""
        leg, step = _heaviest(flow).leg, self.plan.nodes[n].step
        if leg and not step.legged and set(past) == {leg}:
            any_leg = self.facts.for_any_leg(step, leg)
            if any_leg is not None:
                self.plan.alter(n, any_leg, self.plan.nodes[n].to)

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
                if t != END and edges.get((n, o), {}):
                    past = plan.past(plan.nodes[n].step, o, behind[n])
                    plan.lead((n, o), self._past_the_known(past, self._best(edges.get((n, o), {}), past, later)[1]))
            self._lead_the_unseen(n, behind[n], edges)
        plan.lead(START, self._best(edges[START], {0: Behind()}, order)[1])
        plan.drop_unreached()

    def _past_the_known(self, past: Past, to: int) -> int:
        """Where a way leads from a repair that it has surely tried before."""
        plan = self.plan
        while to != HELP and plan.nodes[to].step.kind == "act" and all(
            (done := self.facts.on(plan.nodes[to].step, leg)) is not None and behind.known & self.facts.bit(done)
            for leg, behind in past.items()
        ):  # fmt: skip
            to = plan.nodes[to].to[1]
        return to

    def _lead_the_unseen(self, n: int, before: Past, edges: dict[Edge, Flow]) -> None:
        """An outcome that nothing can show where it stands goes with another one, if it may."""
        plan, node = self.plan, self.plan.nodes[n]
        seen = [t for o, t in enumerate(node.to) if t != END and edges.get((n, o), {})]
        for o, t in enumerate(node.to):
            if t != END and not edges.get((n, o), {}):
                past = plan.past(node.step, o, before)
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
            self._for_any_leg(n, flow, past)
            now = plan.worth(flow, n)
            wanted = self._promising(flow, _heaviest(flow), past, later)
            for option in self._options(wanted, flow, past, later):
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

    def _instead(self, edge: Edge, flow: Flow, behind: dict[int, Past], without: int) -> tuple[float, int]:
        plan = self.plan
        among = [n for n in self._later(edge) if not plan.reach(n) & 1 << without]
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


def _past(plan: Plan, edge: Edge, behind: dict[int, Past]) -> Past:
    return {0: Behind()} if edge == START else plan.past(plan.nodes[edge[0]].step, edge[1], behind[edge[0]])


def _heaviest(flow: Flow) -> Story:
    return max(flow, key=lambda s: (float(flow[s].sum()), sorted(s.standing), s.known, s.leg))
