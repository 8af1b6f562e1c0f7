"""YAML that lies beside tests, read in C where libyaml is there: every process that runs tests reads it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import yaml

LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


def read(path: Path) -> Any:
    """What a file holds."""
    return yaml.load(path.read_text(encoding="utf-8"), LOADER)
