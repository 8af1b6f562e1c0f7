"""The written form of what is done: checks and actions."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from faulttree.book.forms import (
    BasisIn,
    EachLeg,
    FalseAlarm,
    Form,
    Fresh,
    Gate,  # noqa: F401 -- `Ref` names it, and is resolved here
    Name,
    Names,
    NotNegative,
    People,
    Positive,
    Probability,
    Ref,
    Share,
    Text,
    Texts,
    plain_error,
)


class OutcomeForm(Form):
    """One result of a check."""

    label: Text
    """The result, as it is offered."""
    when: Ref | None = None
    """The event that it stands for; the first outcome whose event holds is the true one."""
    otherwise: Literal[True] | None = None
    """true at the last outcome: what remains."""
    detects: Probability | None = None
    """How surely this outcome shows if it is true, if not as the whole check."""
    bars: Names = ()
    """Conditions that nothing is proposed with as long as it stands so."""
    until: Names = ()
    """Checks that lift the bar too, where they show what does not bar."""
    needless: Names = ()
    """Questions that nobody asks any more after this answer, as when a breaker opened that did not."""


class ReadingForm(Form):
    """What is measured, and the limit that turns it into an outcome."""

    quantity: Text
    """What is measured."""
    unit: Text
    """The unit that it is measured in."""
    error: Positive
    """One standard deviation of the reading, in its unit."""
    limit: Name
    """The limit that it is held against."""
    below: Name
    """The outcome that a reading below the limit means."""
    above: Name
    """The outcome that a reading above the limit means."""


class CheckForm(Form):
    """A question, a look or a test."""

    name: Text
    """What is checked."""
    kind: Literal["ask", "look", "test"]
    """ask: a question; look: eyes and hands; test: power, tools or instruments."""
    ask: Text | None = None
    """The question."""
    how: Texts = ()
    """The steps, one after the other."""
    healthy: Text | None = None
    """What a sound gear shows."""
    about: Literal["squawk", "now"] | None = None
    """squawk: how it was then; now: how it stands. Questions are about the squawk unless they say so."""
    needs: Names = ()
    """Conditions that have to stand; what they imply need not be named."""
    after: Names = ()
    """Checks that have to come before it."""
    only_with: Names = ()
    """Symptoms of which one must have been reported, or the question makes no sense."""
    covers: Names = ()
    """Checks of which it shows all that they show: none of them is due beside it."""
    near: Names = ()
    """Components that whoever looks comes near, where a look touches none: theirs are the only parts' cautions."""
    minutes: NotNegative
    """Minutes on the clock, without what it needs set up."""
    waits: NotNegative = 0.0
    """Hours without hands."""
    people: People = 1
    """People that it takes."""
    equipment: Names = ()
    """What has to be at hand."""
    cautions: Names = ()
    """Shown before it."""
    outcomes: Annotated[dict[str, OutcomeForm], Field(min_length=2)]
    """Its results by id, two or more; the last one is what remains."""
    detects: Probability | None = None
    """How surely it shows what is there, 0 to 1."""
    false_alarm: FalseAlarm | None = None
    """How often it shows what is not there, 0 to 1."""
    matrix: dict[str, list[Probability]] | None = None
    """Instead of the two: by outcome shown, how likely it is for each true one; columns add up to 1."""
    wakes: Probability = 0.0
    """How far it provokes what comes and goes, 0 to 1: wiggled, tapped, chilled."""
    fresh: Fresh | None = None
    """How far doing it again is a new reading, 0 to 1."""
    reading: ReadingForm | None = None
    """What is measured, and the limit that makes it an outcome."""
    proof: bool = False
    """Whether it asks if the squawk is gone."""
    proposed: bool = True
    """false for what can be recorded and is never proposed."""
    each_leg: EachLeg = False
    """true, or a list of legs: one check for each leg."""
    fitted: Names = ()
    """Options of the aircraft that it is for; of one group any, of several groups all."""
    basis: BasisIn | None = None
    """Where the numbers come from."""

    @model_validator(mode="after")
    def _question_has_words(self) -> CheckForm:
        if self.kind == "ask" and self.ask is None:
            raise plain_error("the question has no text", "add `ask: …`", "missing-field")
        return self


class ActionForm(Form):
    """A corrective action."""

    name: Text
    """What is done."""
    how: Texts = ()
    """The steps, one after the other."""
    needs: Names = ()
    """Conditions that have to stand; what they imply need not be named."""
    minutes: NotNegative
    """Minutes on the clock, without what it needs set up."""
    waits: NotNegative = 0.0
    """Hours without hands."""
    people: People = 1
    """People that it takes."""
    equipment: Names = ()
    """What has to be at hand."""
    parts: Texts = ()
    """Parts that it uses up."""
    who: Text | None = None
    """Who may do it, if not everybody entitled to the work."""
    effective: Share | None = None
    """How surely it ends the fault, 0 to 1."""
    cautions: Names = ()
    """Shown before it."""
    follow_up: Names = ()
    """Checks that are due after it, before the proof of the squawk."""
    after_any: Names = ()
    """Checks of which one has to be done before it is proposed, unless the fault was seen."""
    once: bool = False
    """Whether it is proposed only once in a case."""
    each_leg: EachLeg = False
    """true, or a list of legs: one action for each leg."""
    fitted: Names = ()
    """Options of the aircraft that it is for; of one group any, of several groups all."""
    basis: BasisIn | None = None
    """Where the numbers come from."""
