"""What holds for every test."""

from __future__ import annotations

import os

# As the program itself does it (cli/main.py), and before numpy is loaded: two runs side by side on two cores stall each
# other where each has several threads.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
# Programs that tests start say what they say as a user's do, in lumps: what is left of one can fail at the exit.
os.environ.pop("PYTHONUNBUFFERED", None)
