"""What the steps of a job cost: minutes of cost for each try, and what is still to pay where a proof passed."""

from __future__ import annotations

import numpy as np

from faulttree.advice.advisor import Round
from faulttree.advice.floor import Standing
from faulttree.belief.likelihood import Floats
from faulttree.workshop.ways import Step

Cost = tuple[float, Standing]
"""Minutes of cost, and what stands then."""


class Costs:
    """Costs of one job. ``dearer``: help is taken to cost so many times what it does."""

    def __init__(self, round_: Round, dearer: float) -> None:
        self.job, self._tables = round_.job, round_.play.rule.tables
        self.help = dearer * self.job.figures.help
        self._found: dict[tuple[Step, Standing], Cost | None] = {}
        self._ends: dict[Standing, Floats] = {}

    def of(self, step: Step, standing: Standing) -> Cost | None:
        """What a step costs once, and what stands after it; None where its need cannot stand."""
        if step.kind == "help":
            return self.help, standing
        if step.kind == "back":
            return 0.0, standing
        key = (step, standing)
        if key not in self._found:
            table = self._tables.at(standing, ())
            found = (table.checks if step.kind == "check" else table.actions)[step.place]
            self._found[key] = None if found is None else (found.minutes, found.after)
        return self._found[key]

    def of_tries(self, step: Step, standing: Standing) -> list[Cost]:
        """The same for each time that a step is done, one after another; none where it cannot be done."""
        found: list[Cost] = []
        for _ in range(2 if step.twice else 1):
            cost = self.of(step, standing)
            if cost is not None:
                found.append(cost)
                standing = cost[1]
        return found

    def tried(self, a: int, minutes: float, after: Standing, failed: Floats) -> Floats:
        """What a repair costs for each row, and what follows it where the proof failed."""
        proved = self.job.proof_fails * failed + self.ends(after)
        effective = float(self.job.effective[a, 0])
        return np.asarray(minutes + effective * proved[self.job.becomes[a]] + (1.0 - effective) * proved)

    def ended(self, a: int, after: Standing, weights: Floats) -> float:
        """What is still to pay for those whose proof passed after a repair."""
        ends, effective = self.ends(after), float(self.job.effective[a, 0])
        return float(weights @ (effective * ends[self.job.becomes[a]] + (1.0 - effective) * ends))

    def ends(self, standing: Standing) -> Floats:
        """What a proof that passes costs by the row that then stands, times its chance, shape (n + 1,)."""
        found = self._ends.get(standing)
        if found is None:
            job = self.job
            stays = job.floor.restoring(standing) + job.figures.comeback * job.stands
            found = self._ends[standing] = np.asarray((1.0 - job.proof_fails) * stays)
        return found
