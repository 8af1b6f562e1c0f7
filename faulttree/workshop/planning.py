"""How a plan of numbered steps comes about: it grows where it loses most, and what is of least use is taken out.

It begins with repairs one by one and help at their end. Again and again the edge that loses most, against knowing the
cause, gets the best step that there is for what comes along it: one that the advice's rule would take, or one of those
that do best with the later steps as they are. Edges are led to whichever later step is best for what comes along them,
so that ways join. Grown beyond its room it is cut back, by what a step saves for its lines, and so again and again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from faulttree.workshop.flows import Flow
from faulttree.workshop.graph import END, HELP, START, Edge
from faulttree.workshop.options import LEAST_GAIN, Option, Options, heaviest
from faulttree.workshop.plan import Past, Plan
from faulttree.workshop.proposing import Proposer
from faulttree.workshop.room import Room
from faulttree.workshop.ways import Behind, Step

AT_ONCE, MOST_ROUNDS = 8, 60
"""Edges that get a step between two times at which it is worked out anew what comes along all of them; rounds."""

TOGETHER, MOST_TRIED = 4, 25
"""Edges that get a step at one go where each go has to bear out; one alone after a go that did not. Goes at most."""

Told = Callable[[str], None]


class Gardener:
    """Grows one plan and cuts it back."""

    def __init__(self, plan: Plan) -> None:
        self.plan, self.job, self.facts = plan, plan.job, plan.facts
        self.room, self.proposer = Room(plan), Proposer(plan)
        self.options = Options(plan, self.proposer)

    def honest(self) -> float:
        """What the job costs by the plan with all that is remembered."""
        kept, self.plan.forgetful = self.plan.forgetful, False
        worth = self.plan.whole()
        self.plan.forgetful = kept
        return worth

    # -- growing ---------------------------------------------------------------------------------------

    def grow(self, room: float, told: Told = lambda words: None) -> None:
        """Add steps where most is lost, until they take so many lines."""
        plan, tried = self.plan, set[Edge]()
        for _ in range(MOST_ROUNDS):
            if self.room.taken() >= room:
                break
            edges = plan.looked_over().edges
            behind = plan.behind()
            open_edges = [edge for edge in self._by_loss(edges) if edge not in tried][:AT_ONCE]
            if not open_edges:
                break
            for edge in open_edges:
                if self._led_better(edge, edges[edge], past_of(plan, edge, behind)):
                    continue
                tried.add(edge)
                self._put_in(edge, edges[edge], past_of(plan, edge, behind))
            told(f"{len(plan.nodes)} steps")
        self.lead_anew()

    def fill(self, room: float, told: Told = lambda words: None) -> None:
        """Grow with all that is remembered, as long as what the whole costs falls and there are so many lines.

        What a step saves is told by values that reckon with what is usually remembered, so each is tried: what does
        not bear out is taken back.
        """
        plan, tried = self.plan, set[Edge]()
        plan.forgetful, plan.facts.ticked = False, True
        plan.drop_unreached()
        _, edges, worth = plan.looked_over()
        together = TOGETHER
        for _ in range(MOST_TRIED):
            able = [e for e in self._by_loss(edges) if e not in tried][:together]
            if not able:
                break
            kept = plan.kept()
            done = {edge for edge in able if self._bettered(edge, edges[edge])}
            plan.drop_unreached()
            _, led, now = plan.looked_over()
            if now < worth - LEAST_GAIN and self.room.taken() <= room:
                worth, edges, together = now, led, TOGETHER
                tried |= done
                told(f"{len(plan.nodes)} steps")
            else:
                plan.restore(*kept)
                tried |= set(able) if together == 1 else set()
                together = 1
        self.try_again()
        self._tidy(plan.looked_over().edges)

    def _tidy(self, edges: dict[Edge, Flow]) -> None:
        """Ways on that come to the same in fewer words: past what was surely tried, and where nothing comes along."""
        plan, behind = self.plan, self.plan.behind()
        for n in reversed(plan.order()):
            for o, t in enumerate(plan.nodes[n].to):
                if t != END:
                    past = plan.past(plan.nodes[n].step, o, behind[n])
                    past_it = self._past_the_known(past, t)
                    plan.lead((n, o), past_it if plan.allowed(past, past_it) else t)
            self._lead_the_unseen(n, behind[n], edges)
        plan.drop_unreached()

    def _bettered(self, edge: Edge, flow: Flow) -> bool:
        """Lead an edge to a better later step, or else put the best one into it; whether the latter was tried."""
        plan, behind = self.plan, self.plan.behind()
        if edge != START and edge[0] not in behind:
            return False
        past = past_of(plan, edge, behind)
        if self._led_better(edge, flow, past):
            return False
        self._put_in(edge, flow, past, ruled=False)
        return True

    def _by_loss(self, edges: dict[Edge, Flow]) -> list[Edge]:
        lost = {}
        for edge, flow in edges.items():
            to = self.plan.target(edge)
            if to != END:
                lost[edge] = self.plan.worth(flow, to) - self.floor(flow)
        return sorted((e for e in lost if lost[e] > LEAST_GAIN), key=lambda e: (-lost[e], e))

    def floor(self, flow: Flow) -> float:
        """What comes along would cost at least, whoever knew the cause of each."""
        return sum(float(self.job.sums(w) @ self.job.floors(story.standing)) for story, w in flow.items())

    def _led_better(self, edge: Edge, flow: Flow, past: Past) -> bool:
        """Whether there is a better later step by now, to which the edge is led."""
        before = self.plan.worth(flow, self.plan.target(edge))
        worth, to = self.options.best(flow, past, self.later(edge))
        if worth < before - LEAST_GAIN:
            self.plan.lead(edge, to)
            return True
        return False

    def _put_in(self, edge: Edge, flow: Flow, past: Past, ruled: bool = True) -> None:
        """The best step put into an edge where one saves something; else what the rule would do, for what follows."""
        plan, later = self.plan, self.later(edge)
        now = plan.worth(flow, plan.target(edge))
        story = heaviest(flow)
        by_rule = self.proposer.ruled(flow, story, past[story.leg])
        wanted = [*([by_rule] if by_rule else []), *self.proposer.promising(flow, story, past, later, further=True)]
        options = [*self.options.of(wanted, flow, past, later, further=True), *self.options.prepared(flow, past, later)]
        best = min(options, key=lambda o: (o.worth, o.step), default=None)
        if best is None or best.worth > now - LEAST_GAIN:
            best = next((o for o in options if ruled and by_rule and self._same(o.step, by_rule)), None)
        if best is not None:
            plan.lead(edge, self.added(best))

    def added(self, option: Option) -> int:
        """The number of a new step, with the new ones that it leads to."""
        return self.plan.add(option.step, self._ways_on(option))

    def _ways_on(self, option: Option) -> list[int]:
        return [self.added(to) if isinstance(to, Option) else to for to in option.to]

    def _same(self, step: Step, other: Step) -> bool:
        places = self.facts.of_leg.get((step.kind, step.place), {}).values() if step.legged else (step.place,)
        return step.kind == other.kind and other.place in places

    def later(self, edge: Edge) -> list[int]:
        """The steps to which an edge may lead without a ring."""
        plan = self.plan
        if edge == START:
            return plan.order()
        return [n for n in plan.order() if not plan.reach(n) & 1 << edge[0]]

    # -- improving -------------------------------------------------------------------------------------

    def _for_any_leg(self, n: int, flow: Flow, past: Past) -> None:
        """A step of the leg that is noted on every way becomes one for whichever leg is: other ways may join it."""
        leg, step = heaviest(flow).leg, self.plan.nodes[n].step
        if leg and not step.legged and set(past) == {leg}:
            any_leg = self.facts.for_any_leg(step, leg)
            if any_leg is not None:
                self.plan.alter(n, any_leg, self.plan.nodes[n].to)

    def lead_anew(self) -> None:
        """Every edge to the later step that is best for what comes along it, from the last step to the first."""
        plan = self.plan
        plan.drop_unreached()
        edges = plan.looked_over().edges
        behind, order = plan.behind(), plan.order()
        for place in range(len(order) - 1, -1, -1):
            n = order[place]
            later = order[place + 1 :]
            for o, t in enumerate(plan.nodes[n].to):
                if t != END and edges.get((n, o), {}):
                    past = plan.past(plan.nodes[n].step, o, behind[n])
                    plan.lead(
                        (n, o), self._past_the_known(past, self.options.best(edges.get((n, o), {}), past, later)[1])
                    )
            self._lead_the_unseen(n, behind[n], edges)
            self._past_the_idle(n)
        plan.lead(START, self.options.best(edges[START], {0: Behind()}, order)[1])
        plan.drop_unreached()

    def _past_the_idle(self, n: int) -> None:
        """A way on to a step that only looks back, and comes to the same whatever it finds, leads past it."""
        plan = self.plan
        for o, t in enumerate(plan.nodes[n].to):
            while t not in (END, HELP) and plan.nodes[t].step.kind == "back" and len(set(plan.nodes[t].to)) == 1:
                t = plan.nodes[t].to[0]
                plan.lead((n, o), t)

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
        for n, flow, past, later in self._from_the_last():
            self._for_any_leg(n, flow, past)
            now = plan.worth(flow, n)
            wanted = [*self._other_way(n), *self.proposer.promising(flow, heaviest(flow), past, later)]
            for option in self.options.of(wanted, flow, past, later):
                if option.worth < now - LEAST_GAIN:
                    now = option.worth
                    plan.alter(n, option.step, self._ways_on(option))
        self.lead_anew()

    def _from_the_last(self) -> Iterator[tuple[int, Flow, Past, list[int]]]:
        """Each step that anything comes to but help, what comes along it, what is behind that, the steps after it.

        All as the plan is at the outset; the steps may be altered on the way.
        """
        arriving = self.plan.looked_over().arriving
        behind, order = self.plan.behind(), self.plan.order()
        for place in range(len(order) - 1, -1, -1):
            n = order[place]
            if n != HELP and arriving[n]:
                yield n, arriving[n], behind[n], order[place + 1 :]

    def _other_way(self, n: int) -> list[Step]:
        """A repair twice instead of once, or once instead of twice."""
        step = self.plan.nodes[n].step
        return [step._replace(twice=not step.twice)] if step.kind == "act" else []

    def try_again(self) -> None:
        """Each repair once more where it was not gone, if that is better than what follows, else once."""
        plan = self.plan
        for n, flow, past, later in self._from_the_last():
            now = plan.worth(flow, n)
            for option in self.options.of(self._other_way(n), flow, past, later):
                if option.worth < now - LEAST_GAIN:
                    plan.alter(n, option.step, self._ways_on(option))
        plan.drop_unreached()

    # -- cutting back ----------------------------------------------------------------------------------

    def cut_back(self, room: float, steps: int | None = None, told: Told = lambda words: None) -> None:
        """Take out what saves least for its lines until the rest takes no more than so many, and so many steps."""
        plan = self.plan
        plan.drop_unreached()
        while len(lines := self.room.lines()) > 1 and self.over(lines, room, steps) > 0:
            aim, gone = max(self.over(lines, room, steps) / 2.0, 0.5), 0.0
            edges = plan.looked_over().edges
            for n in self.least_useful(lines, edges):
                if n in plan.nodes and gone < aim:
                    gone += lines[n]
                    self.take_out(n, edges)
            self.lead_anew()
            told(f"{len(plan.nodes)} steps")

    def over(self, lines: dict[int, float], room: float, steps: int | None) -> float:
        """Lines too many, or as many as the steps too many take in the mean."""
        taken = sum(lines.values())
        over = len(lines) - steps if steps is not None else 0
        return max(taken - room, over * taken / len(lines))

    def least_useful(self, lines: dict[int, float], edges: dict[Edge, Flow]) -> list[int]:
        """The steps by what they roughly save for their lines, least first."""
        plan = self.plan
        behind = plan.behind()
        loss = dict.fromkeys((n for n in plan.order() if n != HELP), 0.0)
        for edge, flow in edges.items():
            to = plan.target(edge)
            if to in loss:
                loss[to] += self._instead(edge, flow, behind, to)[0] - plan.worth(flow, to)
        return sorted(loss, key=lambda n: (loss[n] / lines[n], n))

    def _instead(self, edge: Edge, flow: Flow, behind: dict[int, Past], without: int) -> tuple[float, int]:
        plan = self.plan
        among = [n for n in self.later(edge) if not plan.reach(n) & 1 << without]
        return self.options.best(flow, past_of(plan, edge, behind), among)

    def take_out(self, n: int, edges: dict[Edge, Flow]) -> None:
        """Lead what leads to a step elsewhere, by what came along the ways before others were taken out too."""
        plan = self.plan
        behind = plan.behind()
        for edge, flow in edges.items():
            if (edge == START or edge[0] in behind) and plan.target(edge) == n:
                plan.lead(edge, self._instead(edge, flow, behind, n)[1])
                behind = plan.behind()
        plan.drop_unreached()


def past_of(plan: Plan, edge: Edge, behind: dict[int, Past]) -> Past:
    """What was done once an edge is taken."""
    return {0: Behind()} if edge == START else plan.past(plan.nodes[edge[0]].step, edge[1], behind[edge[0]])
