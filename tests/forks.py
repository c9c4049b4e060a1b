"""Servers forked from a process that has everything imported: what a start costs is no part of what is tested.

Each is a process of its own, to be killed with -9.
"""
from __future__ import annotations

import multiprocessing
import os
from collections.abc import Callable
from multiprocessing.context import ForkServerProcess
from typing import Any

from tests.entered import KEY

FORKS = multiprocessing.get_context("forkserver")
FORKS.set_forkserver_preload(["tests.warm"])


def fork(serve: Callable[..., None], *given: Any) -> ForkServerProcess:
    """A process that serves, with the tests' desk key; dead when this one ends."""
    process = FORKS.Process(target=keyed, args=(serve, *given), daemon=True)
    process.start()
    return process


def keyed(serve: Callable[..., None], *given: Any) -> None:
    os.environ["YARDTRUE_DESK_KEY"] = KEY
    serve(*given)
