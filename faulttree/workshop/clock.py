"""Minutes on the clock of a plan, which are what a chart tells: costs of care and of waiting do not count."""

from __future__ import annotations

from faulttree.advice.floor import Standing
from faulttree.book.model import Action, Check
from faulttree.workshop.plan import Plan
from faulttree.workshop.ways import Step


def minutes(plan: Plan) -> tuple[float, float]:
    """Mean minutes over the belief, help's included; the chance that help is called."""
    total, called = 0.0, 0.0
    restore_all = plan.round.advisor.moves.restore_all
    arriving, _ = plan.flows(finely=True)
    for n, flow in arriving.items():
        for story, come in flow.items():
            step = plan.facts.on(plan.nodes[n].step, story.leg)
            assert step is not None
            weights = plan.met(step, story, come)[1]
            chance = float(weights.sum())
            if step.kind == "back":
                continue
            if step.kind == "help":
                called += chance
                total += chance * plan.job.figures.help
                continue
            standing = story.standing
            for _ in plan.costs.of_tries(step, standing):
                taken, standing = _of_step(plan, step, standing)
                total += float(weights.sum()) * taken
                if step.kind == "act":
                    left = plan.job.after_failed(step.place, weights)
                    total += float(weights.sum() - left.sum()) * restore_all(standing).minutes
                    weights = left
    return total, called


def _of_step(plan: Plan, step: Step, standing: Standing) -> tuple[float, Standing]:
    """Minutes of a step with its moves, follow-ups and proof."""
    items: list[Check | Action] = [plan.item(step)]
    if step.kind == "act":
        items += [plan.round.book.checks[name] for name in plan.job.floor.due_after((items[0].id,))]
    taken = 0.0
    for item in items:
        move = plan.round.advisor.moves.move(standing, item.needs)
        taken, standing = taken + move.minutes + item.minutes, move.after
    return taken, standing
