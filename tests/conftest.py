"""What holds for every test."""

from __future__ import annotations

import gc
import os
import shutil
import tempfile

import pytest

# As the program itself does it (cli/main.py), and before numpy is loaded: two runs side by side on two cores stall each
# other where each has several threads.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
# Programs that tests start say what they say as a user's do, in lumps: what is left of one can fail at the exit.
os.environ.pop("PYTHONUNBUFFERED", None)

# Books and what is worked out from them are large and stay: looking through them again and again for rings that nothing
# holds any more took a twelfth of the time.
gc.set_threshold(100_000, 20, 100)

# What a run keeps of checked books is one folder for all tests of it, those of other processes too: a book is read in a
# second or two, and most tests of the command want the same ones. Tests of the folder itself have one of their own.
if "PYTEST_XDIST_WORKER" not in os.environ:
    os.environ["FAULTTREE_CACHE"] = tempfile.mkdtemp(prefix="checked-books-")


def pytest_unconfigure(config: pytest.Config) -> None:
    """The folder goes with the run that made it."""
    if not hasattr(config, "workerinput"):
        shutil.rmtree(os.environ["FAULTTREE_CACHE"], ignore_errors=True)
