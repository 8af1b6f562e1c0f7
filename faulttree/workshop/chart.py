"""A go-to chart: the advice for one symptom compiled into numbered steps, for a hangar without a computer.

``compiled`` gives plain data. A step is a question, a check, a repair with its follow-ups and proof, or the call for
help; each outcome goes to a later step, to the end (proved) or to help, so no way through it runs in a ring or stops
short. What a step shows as cautions is all that the live advice shows for it, from any standing in which the chart can
reach it.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from typing import Any

from faulttree import papers
from faulttree.advice import Advisor, Figures, Situation
from faulttree.advice.advisor import Round
from faulttree.belief import Believer, Evidence, Reported
from faulttree.book.model import Book
from faulttree.errors import FaulttreeError, UnknownName
from faulttree.workshop.grafting import Grafter
from faulttree.workshop.graph import END, HELP
from faulttree.workshop.growing import LEAST_SAVED, STARTS, Starts, grown
from faulttree.workshop.plan import Plan
from faulttree.workshop.planning import Gardener
from faulttree.workshop.sheet import Sheet
from faulttree.workshop.weeding import Weeder

FEWEST = 3
"""A chart that does not fit with so few steps does not fit at all."""

PAGES, PAGE = 4, 250.0
"""Pages that a chart is made for where nobody says; lines on a page."""

LINES_OF_A_STEP, FEW_LINES = 25.0, 180.0
"""Lines of a step with all that it wants told, where there are many; of a few steps, which share little."""

BEYOND, A_LITTLE, CYCLES = 1.15, 1.05, 3
"""To so much of its room a plan gets steps where ways come together before it is weeded, at first and after that, and
so often after that at most: as long as it becomes cheaper."""

SIGNS, LEAST_CUT = 105.0, 1.07
"""Signs on a line of what is told besides the steps; to how much of its lines a plan is weeded before pages are
counted."""

FOLLOWING = 28.0
"""Lines of how to follow it, and of its head."""

FEWER, NEARLY = 0.985, 0.99
"""To how much of its lines a chart is weeded again that was too long; to how much of such lines one is weeded first."""


LARGE = 500.0
"""Lines of a chart from which it is searched for twice."""

OTHER_STARTS: Starts = (1.1, 1.65)
"""Where the second search begins. What a search finds differs by some per cent from one small change of it to another:
of the two charts furthest from their goal one came out 3 % cheaper so, the other 5 %."""


@dataclass(frozen=True)
class Limits:
    """``steps`` at most in all; ``depth`` on any one way (None for either: any)."""

    steps: int | None = None
    depth: int | None = None

    def room(self, pages: int) -> float:
        """Lines to begin with, for a chart on so many pages."""
        lines = PAGE * pages
        return lines if self.steps is None else min(lines, max(LINES_OF_A_STEP * self.steps, FEW_LINES))


def compiled(
    book: Book,
    symptom: str,
    limits: Limits | None = None,
    figures: Figures | None = None,
    told: Callable[[str], None] = lambda words: None,
) -> dict[str, Any]:
    """The chart of a symptom as plain data. Raises UnknownName for a symptom that the book does not have."""
    return Compiler(book, symptom, figures, told).begun(limits or Limits())


def fitting(
    book: Book,
    symptom: str,
    pages: int,
    limits: Limits | None = None,
    figures: Figures | None = None,
    told: Callable[[str], None] = lambda words: None,
) -> dict[str, Any]:
    """The chart with as many steps as its PDF has room for on so many pages.

    A large one is searched for twice from the start, on two cores where there are two, and the better one is given.
    Raises UnknownName for a symptom that the book does not have, FaulttreeError where not even the shortest chart fits.
    """
    limits = limits or Limits()
    here = Compiler(book, symptom, figures, told)
    if limits.room(pages) < LARGE:
        return here.fitted(pages, limits)
    with ProcessPoolExecutor(1) as pool:
        elsewhere = pool.submit(_fitted_anew, book, symptom, pages, limits, figures)
        chart = here.fitted(pages, limits)
        cost, other = elsewhere.result()
    return chart if here.cost <= cost else other


def _fitted_anew(
    book: Book, symptom: str, pages: int, limits: Limits, figures: Figures | None
) -> tuple[float, dict[str, Any]]:
    """The minutes of cost of another chart, and the chart."""
    compiler = Compiler(book, symptom, figures)
    chart = compiler.fitted(pages, limits, OTHER_STARTS)
    return compiler.cost, chart


class Compiler:
    """Compiles charts of one symptom, each smaller than the one before from the same plan."""

    def __init__(
        self,
        book: Book,
        symptom: str,
        figures: Figures | None = None,
        told: Callable[[str], None] = lambda words: None,
    ) -> None:
        if symptom not in book.symptoms:
            raise UnknownName(f"the {book.family} book has no symptom {symptom!r}")
        self.book, self.symptom, self._told = book, symptom, told
        advisor = Advisor(book, figures)
        belief = Believer(book).believe(Evidence((Reported(symptom),)))
        to_go = advisor.advise(belief, Situation()).to_go
        assert to_go is not None
        self.live = to_go.mean
        self._round = Round(advisor, belief, Situation())
        self._too_long = self.cost = float("inf")

    def fitted(self, pages: int, limits: Limits, starts: Starts = STARTS) -> dict[str, Any]:
        """The chart of a new plan, cut back until it fits on so many pages; ``cost`` are then its minutes of cost.

        Raises FaulttreeError where not even the call for help has room.
        """
        room = limits.room(pages)
        plan = grown(self._round, room, self._told, starts=starts)
        gardener = Gardener(plan)
        gardener.cut_back(room, limits.steps, self._told)
        room = min(room, max(LEAST_CUT * (PAGE * pages - _lines_besides(self._chart(plan, limits))), 0.0))
        gardener.fill(room, self._told)
        self._told(f"{gardener.room.taken():.0f} lines of {room:.0f}, {plan.whole():.1f} minutes of cost")
        chart = self._grafted(gardener, room, pages, limits)
        self.cost = plan.whole()
        return chart

    def _grafted(self, gardener: Gardener, room: float, pages: int, limits: Limits) -> dict[str, Any]:
        """The chart of a plan with steps put in where ways come together, weeded until it fits, and so again."""
        plan, grafter, weeder = gardener.plan, Grafter(gardener), Weeder(gardener)
        chart: dict[str, Any] | None = None
        best, kept = float("inf"), plan.kept()
        for beyond in (BEYOND, *[A_LITTLE] * CYCLES):
            grafter.graft(beyond * room, self._told)
            weeder.lead_anew()
            other = self._weeded(weeder, room, pages, limits)
            worth = plan.whole()
            self._told(f"{gardener.room.taken():.0f} lines, {worth:.1f} against {best:.1f} minutes of cost")
            if worth > best - LEAST_SAVED:
                plan.restore(*kept)
                break
            chart, best, kept, room = other, worth, plan.kept(), gardener.room.taken()
        assert chart is not None
        return chart

    def _weeded(self, weeder: Weeder, room: float, pages: int, limits: Limits) -> dict[str, Any]:
        """The chart of a plan weeded until it fits on so many pages."""
        taken, room = weeder.gardener.room.taken, min(room, NEARLY * self._too_long)
        while True:
            weeder.weed(room, limits.steps, self._told)
            chart = self._chart(weeder.plan, limits)
            count, steps = papers.page_count(chart), len(chart["steps"])
            self._told(f"{steps} steps on {count} pages")
            if count <= pages:
                return chart
            if steps <= FEWEST:
                raise FaulttreeError(
                    f"the chart of {self.symptom} does not fit on {pages} pages; the shortest takes {count}"
                )
            self._too_long = min(self._too_long, taken())
            self._told(f"{taken():.0f} lines")
            room = FEWER * min(room, taken())

    def begun(self, limits: Limits) -> dict[str, Any]:
        """The chart of a new plan within these limits."""
        room = limits.room(PAGES)
        plan = grown(self._round, room, self._told)
        Gardener(plan).cut_back(room, limits.steps, self._told)
        return self._chart(plan, limits)

    def _chart(self, plan: Plan, limits: Limits) -> dict[str, Any]:
        if limits.depth is not None:
            _cut_at(plan, limits.depth)
        return Sheet(self.book, self.symptom, plan, self.live).data()


def _lines_besides(chart: dict[str, Any]) -> float:
    """Lines on paper of what stands there whatever the steps are, roughly."""
    texts = [c["text"] for c in chart["standing_cautions"]]
    texts += [q["ask"] + a["label"] + a["says"] for q in chart["opening"] for a in q["answers"]]
    return FOLLOWING + sum(len(text) / SIGNS + 0.7 for text in texts)


def _cut_at(plan: Plan, depth: int) -> None:
    """Ways longer than so many steps end in help."""
    deep = {plan.root: 1}
    for n in plan.order():
        for o, t in enumerate(plan.nodes[n].to):
            if t in (END, HELP) or n not in deep:  # what only longer ways led to is not reached any more
                continue
            if deep[n] >= depth - 1:
                plan.lead((n, o), HELP)
            else:
                deep[t] = max(deep.get(t, 0), deep[n] + 1)
    plan.drop_unreached()
