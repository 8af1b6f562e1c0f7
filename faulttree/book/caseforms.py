"""The written form of a regression case."""

from __future__ import annotations

import re
from typing import Annotated, Literal

from pydantic import Field, model_validator

from faulttree.book.forms import Between, Form, Frozen, Name, Names, NotNegative, Probability, Text, plain_error

_NUMBER = r"[-+]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][-+]?[0-9]{1,3})?"
READING = re.compile(rf"(?P<name>[^=\s]+)\s*=\s*(?P<value>{_NUMBER})\s*(?P<unit>[^\s(][^(]*?)\s*")
LIMIT = re.compile(READING.pattern + r"\((?P<reference>[^()]*[^()\s][^()]*)\)\s*")
_KINDS = ("answer", "unsure", "found", "did", "reading")


class StepForm(Form):
    """One step; exactly one kind, a limit only with a reading."""

    answer: Text | None = None
    """`check=outcome`: what a check showed."""
    unsure: Text | None = None
    """`check=outcome`: what it showed to somebody who was not sure."""
    found: Name | None = None
    """A fault that was seen with one's own eyes."""
    did: Name | None = None
    """An action that was done."""
    reading: Text | None = None
    """`check=value unit`: what was measured."""
    limit: Text | None = None
    """`limit=value unit (reference)`: the limit it is held against, with its place in the manual."""

    @model_validator(mode="after")
    def _one_kind(self) -> StepForm:
        given = [kind for kind in _KINDS if getattr(self, kind) is not None]
        if len(given) != 1:
            raise plain_error("a step is one thing", f"write one of {', '.join(f'`{kind}`' for kind in _KINDS)}")
        for kind in ("answer", "unsure"):
            said = getattr(self, kind)
            if said is not None and not all(part.strip() for part in said.partition("=")):
                raise plain_error(f"`{said}` is no answer", f"write `{kind}: check=outcome`")
        if self.reading is not None and not READING.fullmatch(self.reading):
            raise plain_error(f"`{self.reading}` is no reading", 'write `reading: "check=value unit"`')
        if self.limit is not None and (self.reading is None or not LIMIT.fullmatch(self.limit)):
            what = f"`{self.limit}` is no limit for a reading"
            raise plain_error(what, 'write `limit: "limit=value unit (reference)"` beside the reading')
        return self


class ExpectForm(Form):
    """What must come out; at least one thing."""

    cause: Name | None = None
    """The component or fault that has to come out."""
    within: Annotated[int, Between(1, 1000)] | None = None
    """Among how many it has to be; 1 unless stated."""
    order: Names = ()
    """The components that come first, in this order; shares within a quarter of each other count as alike."""
    next: Names = ()
    """The next step is one of these."""
    hands_on: Names = ()
    """One of these comes before any other test or repair; questions and looks may come first."""
    kinds: Annotated[tuple[Literal["ask", "check", "act", "help"], ...], Frozen] = ()
    """The next step is of one of these kinds."""
    cautions: Names = ()
    """Cautions that some step shows."""
    not_offered: Names = ()
    """Steps that are not offered."""
    unlisted_at_least: Probability | None = None
    """The probability that the unlisted cause has at least."""
    contradiction: bool | None = None
    """Whether the answers cannot all be true."""
    conflict_at_least: float | None = None
    """How badly the answers fit together at least, in bits."""

    @model_validator(mode="after")
    def _something(self) -> ExpectForm:
        if not any(getattr(self, name) not in (None, ()) for name in type(self).model_fields):
            raise plain_error("nothing is expected", "name a `cause`, the `next` step, `cautions` …")
        if self.within is not None and self.cause is None:
            raise plain_error("`within` stands without a `cause`", "add the `cause`")
        return self


class CaseForm(Form):
    """A case as written."""

    description: Text
    """What the case is about and what it keeps true, in a sentence."""
    origin: Literal["constructed", "worked-example", "shop"]
    """constructed, worked-example (from a publication), or shop (happened, nobody to be known by it)."""
    from_case: Text | None = None
    """The shop's closed case that it tells of: its cause in own words is then the one that has to come out."""
    family: Name | None = None
    """The family, for a case in a folder that several families read."""
    fitted: Names = ()
    """Options of the aircraft."""
    symptoms: Names = ()
    """Symptoms reported."""
    absent: Names = ()
    """Symptoms that the pilot denies."""
    squawk: Text | None = None
    """The pilot's words, instead of symptoms or beside them."""
    circumstances: Names = ()
    """What surrounds the squawk."""
    hours: NotNegative | None = None
    """Flight hours since the gear was last known good."""
    steps: list[StepForm] = Field(default_factory=list)
    """What was answered, found, measured and done, in order."""
    standing: Names = ()
    """Conditions that stand."""
    expect: ExpectForm
    """What has to come out; one thing at least."""

    @model_validator(mode="after")
    def _has_a_squawk(self) -> CaseForm:
        if not self.symptoms and self.squawk is None:
            raise plain_error("the case has no squawk", "add `symptoms: […]`, or `squawk: …` in words")
        both = [name for name in self.symptoms if name in self.absent]
        if both:
            raise plain_error(f"`{both[0]}` is both there and absent", "keep one of the two")
        return self
