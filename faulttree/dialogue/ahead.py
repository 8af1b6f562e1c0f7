"""Looking ahead: why a step is proposed, and what would follow from what it may show."""

from __future__ import annotations

from faulttree.advice import Advice, Suggestion
from faulttree.book.model import Book
from faulttree.case import CaseState
from faulttree.chances import in_words, minutes_in_words
from faulttree.dialogue.changed import moves
from faulttree.dialogue.prompts import Board, Choice, Prompt
from faulttree.dialogue.thinking import Thinking

WHAT_IF = "what-if "
"""A view's name begins so, and goes on with CHECK=OUTCOME."""

BACK = Choice("b", "back", "back")
OTHERS_TOLD = 2


def why(book: Book, shown: Board, advice: Advice) -> Prompt:
    """The reasons for the next step, and its outcomes, each of which can be looked into."""
    step = shown.suggestion
    if step is None:
        return Prompt("why", "Why this step", ("There is nothing to suggest.",), commands=(BACK,))
    lines = [step.why, *_wanted(book, step, advice), *_minutes(shown), *_others(advice, step)]
    choices = []
    for i, outcome in enumerate(step.outcomes, 1):
        after = book.faults[outcome.top_cause_after].name if outcome.top_cause_after else "something not listed"
        then = f"; next: {outcome.then}" if outcome.then else ""
        label = f"{outcome.label}, {in_words(outcome.probability)}; then likeliest: {after}{then}"
        choices.append(Choice(str(i), label, f"{WHAT_IF}{step.id}={outcome.id}"))
    if choices:
        lines.append("By outcome (its number shows what then; nothing is recorded):")
    return Prompt("why", f"Why this step: {step.name}", tuple(lines), tuple(choices), (BACK,), board=shown)


def _wanted(book: Book, step: Suggestion, advice: Advice) -> list[str]:
    """Everything to fetch: for this step, and for those after it."""
    lines = []
    if step.equipment:
        lines.append("Wants: " + ", ".join(book.equipment[name] for name in step.equipment) + ".")
    soon = [book.equipment[name] for name in advice.fetch.equipment if name not in step.equipment]
    if soon:
        lines.append("Soon wanted too: " + ", ".join(soon) + ".")
    return lines


def _minutes(shown: Board) -> list[str]:
    if shown.to_go is None:
        return ["The minutes to the end are being worked out; look again in a moment."]
    split = {kind: minutes for kind, minutes in shown.to_go.split.items() if minutes >= 1}
    parts = [f"{kind.replace('-', ' ')} {minutes_in_words(minutes)}" for kind, minutes in split.items()]
    half, mean = minutes_in_words(shown.to_go.p50), minutes_in_words(shown.to_go.mean)
    few = f"; the mean is {mean}, since a few take long" if mean != half else ""
    lines = [f"Half of such jobs end within {half}{few}. In the mean: {', '.join(parts)}."]
    if shown.to_go.money is not None:
        lines.append(f"On average {shown.to_go.money:.0f} {shown.currency} in labour and parts.".replace("  ", " "))
    return lines


def _others(advice: Advice, step: Suggestion) -> list[str]:
    others = [s for s in advice.suggestions if s is not step and s.refined == step.refined][:OTHERS_TOLD]
    return [f"{_more(s.expected_minutes - step.expected_minutes)}: {s.name}." for s in others]


def _more(minutes: float) -> str:
    """Against the step proposed; one that was found better meanwhile takes less."""
    if abs(minutes) < 1:
        return "About the same"
    return f"About {minutes_in_words(abs(minutes))} {'more' if minutes > 0 else 'less'}"


def what_if(thinking: Thinking, state: CaseState, answer: str) -> Prompt:
    """The ranking now and if a check showed an outcome, and the next steps then. Nothing is recorded."""
    name, _, outcome = answer.partition("=")
    check, then = thinking.book.checks[name], thinking.after(state, name, outcome)
    label = next(o.label for o in check.outcomes if o.id == outcome)
    first = thinking.advise(then).suggestions[:OTHERS_TOLD]
    lines = [f"{i}. {s.name}: {minutes_in_words(s.minutes_now)}" for i, s in enumerate(first, 1)]
    return Prompt(
        "what-if", f"If {check.name}: {label}", ("Then next, with the time that it takes now:", *lines), (), (BACK,),
        moved=moves(thinking.book, thinking.believe(state), thinking.believe(then)),
    )  # fmt: skip
