"""Killed at any moment, nothing is lost that a prompt had acknowledged. `kill.py` does the same a thousand times."""

from __future__ import annotations

from pathlib import Path

from tests.hardening.kill import kill
from tests.support.share import many

NEVER = 1000


def test_nothing_acknowledged_is_lost_when_processes_are_killed(tmp_path: Path) -> None:
    """After each of four kills (or ten) the case opens, verifies, has all acknowledged, and is worked to its end."""
    times = many(4, 10)
    counts = kill(times, 1, tmp_path, every=NEVER)
    assert counts.killed == times
    assert counts.between > 0
    assert counts.journals > 0, "none was killed within a write"


def test_nothing_acknowledged_is_lost_when_the_command_is_killed_at_a_terminal(tmp_path: Path) -> None:
    """The whole command on a pseudo-terminal, its next steps played out beside the prompts, killed twice (three times).

    One kill alone may come before anything was acknowledged.
    """
    times = many(2, 3)
    counts = kill(times, 2, tmp_path, every=1)
    assert counts.on_terminal == times
    assert counts.acknowledged > 0


def test_nothing_acknowledged_is_lost_when_clients_of_a_server_are_killed(tmp_path: Path, server: str) -> None:
    """The same three times (five) on PostgreSQL."""
    counts = kill(many(3, 5), 3, tmp_path, server, every=NEVER)
    assert counts.between > 0
