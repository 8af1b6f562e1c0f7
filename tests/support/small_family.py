"""A small made-up family on the shipped shared knowledge: enough to work a case from squawk to close."""

from __future__ import annotations

from pathlib import Path

from faulttree.book import read_texts
from faulttree.book.model import Book

SHARED = Path(__file__).resolve().parents[2] / "knowledge" / "shared"

FAMILY = """
family: {id: made-up, name: Made-up gear, proof: cycle-test}
components:
  guard-switch: {name: Guard switch, ata: 32-60}
  motor: {name: Motor, ata: 32-30}
faults:
  guard-switch.stuck:
    {name: stuck open, rate: 0.3, basis: estimate, corrected_by: [replace-guard-switch]}
  guard-switch.lead-chafed:
    {name: lead chafed, rate: 0.2, basis: estimate, intermittent: {share: 0.7, shows: 0.3}, corrected_by: [mend-lead]}
  motor.brushes-worn:
    {name: brushes worn, rate: 0.3, basis: estimate, corrected_by: [replace-brushes]}
symptoms:
  stays-down:
    name: Gear stays down
    says: [gear stays down, wheels wont come up, would not retract, no retraction, stayed down]
    when: {any_of: [guard-switch.stuck, guard-switch.lead-chafed, motor.brushes-worn]}
    pilot_advice: [Leave it down and land.]
checks:
  motor-sound:
    name: Motor heard
    kind: ask
    ask: Was the motor heard when up was selected?
    minutes: 1
    outcomes:
      hummed: {label: It hummed, when: motor.brushes-worn}
      silent: {label: Silence, otherwise: true}
    detects: 0.7
    false_alarm: 0.1
    basis: estimate
  switch-continuity:
    name: Continuity of the guard switch
    kind: test
    needs: [on-jacks, motor-breaker-pulled]
    minutes: 10
    equipment: [multimeter]
    cautions: [never-prove-ground-safety-on-wheels]
    outcomes:
      open: {label: Open, when: guard-switch.stuck}
      jumps: {label: Jumps when the lead is moved, when: guard-switch.lead-chafed}
      steady: {label: Closed and steady, otherwise: true}
    detects: 0.95
    false_alarm: 0.02
    wakes: 0.8
    basis: estimate
  cycle-test:
    name: Cycle on jacks
    kind: test
    needs: [gear-powered]
    minutes: 30
    people: 2
    outcomes:
      remains: {label: The squawk is still there, when: the-squawk}
      gone: {label: The gear does what it should, otherwise: true}
    detects: 0.95
    false_alarm: 0.02
    proof: true
    basis: estimate
actions:
  replace-guard-switch: {name: Replace the guard switch, minutes: 60, needs: [on-jacks, motor-breaker-pulled],
    follow_up: [cycle-test], basis: estimate}
  mend-lead: {name: Mend the lead, minutes: 60, needs: [on-jacks, motor-breaker-pulled],
    follow_up: [cycle-test], basis: estimate}
  replace-brushes: {name: Replace the brushes, minutes: 90, needs: [floor-panel-out, motor-breaker-pulled],
    follow_up: [cycle-test], basis: estimate}
"""


def shared_texts() -> dict[str, str]:
    """The shipped files that every family reads, by name."""
    return {f"shared/{path.name}": path.read_text(encoding="utf-8") for path in sorted(SHARED.glob("*.yaml"))}


def small_book() -> Book:
    """The made-up family's book."""
    reading = read_texts({**shared_texts(), "made-up/all.yaml": FAMILY}, "made-up")
    assert reading.book is not None, "\n".join(map(str, reading.problems))
    return reading.book
