"""Killed at any moment, nothing is lost that a prompt had acknowledged. `kill.py` does the same a thousand times."""

from __future__ import annotations

from pathlib import Path

from tests.hardening.kill import kill

NEVER = 1000


def test_nothing_acknowledged_is_lost_when_processes_are_killed(tmp_path: Path) -> None:
    """After each of ten kills the case opens, verifies, has every entry acknowledged, and is worked to its end."""
    counts = kill(10, 1, tmp_path, every=NEVER)
    assert counts.killed == 10
    assert counts.between > 0
    assert counts.journals > 0, "none was killed within a write"


def test_nothing_acknowledged_is_lost_when_the_command_is_killed_at_a_terminal(tmp_path: Path) -> None:
    """The whole command on a pseudo-terminal, its next steps played out beside the prompts, killed three times.

    One kill alone may come before anything was acknowledged.
    """
    counts = kill(3, 2, tmp_path, every=1)
    assert counts.on_terminal == 3
    assert counts.acknowledged > 0


def test_nothing_acknowledged_is_lost_when_clients_of_a_server_are_killed(tmp_path: Path, server: str) -> None:
    """The same five times on PostgreSQL."""
    counts = kill(5, 3, tmp_path, server, every=NEVER)
    assert counts.between > 0
