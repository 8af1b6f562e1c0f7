"""What a learner does in a drill, and what comes back: plain data. A drill is its seed and the acts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

from faulttree.drill.gear import Value
from faulttree.errors import BadCase

KINDS = (
    "opening", "check", "judge", "set-up", "restore", "restore-all", "repair", "tempted", "rule-out", "rule-in",
    "finish", "help",
)  # fmt: skip
"""Asking what has to be known first; a question, look or test; saying what a value means; setting up; putting back;
putting all back; a repair with the cause named; giving in to what nobody should do; marking a part as cleared, and
taking that back; saying that the job is done; calling in a specialist."""


@dataclass(frozen=True, slots=True)
class Act:
    """One thing that the learner does.

    ``id`` names the question, check, condition, action or part. ``claims`` are the cautions that they say apply;
    ``cause`` and ``follow_up`` what they name with a repair.
    """

    kind: str
    id: str = ""
    claims: tuple[str, ...] = ()
    cause: str = ""
    follow_up: tuple[str, ...] = ()

    def as_data(self) -> dict[str, Any]:
        """As plain data; what is empty is left out."""
        return {key: list(v) if isinstance(v, tuple) else v for key, v in asdict(self).items() if v}


def act_from(data: Mapping[str, Any]) -> Act:
    """An act from its plain data. Raises BadCase."""
    try:
        kind = data["kind"]
        claims, follow_up = tuple(data.get("claims", ())), tuple(data.get("follow_up", ()))
        act = Act(kind, data.get("id", ""), claims, data.get("cause", ""), follow_up)
    except (KeyError, TypeError) as problem:
        raise BadCase("an act of a drill cannot be read; the database was changed by other means") from problem
    if kind not in KINDS:
        raise BadCase(f"a drill holds an act that this version does not know: {kind!r}")
    return act


@dataclass(frozen=True, slots=True)
class Stop:
    """Why the drill stops a step. ``cautions`` say what could have happened; ``danger``: somebody could have been hurt,
    it counts as unsafe.

    ``kind`` is ``order`` (set up or put back in an order that cannot be), ``exposed`` (done without what makes it
    safe), ``unmeasured`` (a repair before anything showed the fault), ``barred`` (what was found speaks against it),
    ``never`` (nobody does that), ``opening`` (touched before asking), ``owed`` (something else is due first),
    ``nothing`` (it makes no sense now).
    """

    kind: str
    reason: str
    cautions: tuple[str, ...] = ()
    danger: bool = False

    @property
    def out_of_order(self) -> bool:
        """Whether it was the wrong time for it, and no more than that."""
        return not self.danger and self.kind in ("order", "exposed", "unmeasured", "opening", "owed")


@dataclass(frozen=True, slots=True)
class Told:
    """What an act brought: a stop, or what was shown or said, and the minutes that it took.

    ``missed`` and ``wrong`` are cautions that applied and were not named, and the other way round; ``unplanned`` and
    ``needless`` the same of follow-ups, of which ``due`` are those that are right; ``wasted``: the repair mended
    nothing that was wrong; ``misjudged``: the value means another outcome than the learner said (``cause`` of the
    act); not ``held``: what was wrong is wrong still.
    """

    act: Act
    minutes: float = 0.0
    waits: float = 0.0
    stop: Stop | None = None
    outcome: str = ""
    value: Value | None = None
    says: str = ""
    missed: tuple[str, ...] = ()
    wrong: tuple[str, ...] = ()
    unplanned: tuple[str, ...] = ()
    needless: tuple[str, ...] = ()
    due: tuple[str, ...] = ()
    wasted: bool = False
    misjudged: bool = False
    held: bool = True
