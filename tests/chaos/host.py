"""The server of a chaos run: started, killed with -9, started again on the same file and port."""
from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
from multiprocessing.context import ForkServerProcess
from pathlib import Path

from tests.bench.standing import ROOT, free_port
from tests.chaos.mortal import live
from tests.entered import KEY
from tests.forks import fork

PATIENCE = 60.0


class Host:
    """A port and a database file, and whichever process serves them now."""

    def __init__(self, folder: Path) -> None:
        self.port = free_port()
        self.database = f"sqlite:///{folder / 'crew.sqlite3'}"
        self.cache = folder / "cache"
        self.cache.mkdir()
        self.command: subprocess.Popen[bytes] | None = None
        self.process: ForkServerProcess | None = None
        self.kills = 0

    def serve(self) -> None:
        """Start by the command that people use."""
        command = [sys.executable, "-m", "server", "serve", "--port", str(self.port), "--database", self.database]
        self.command = subprocess.Popen(command, cwd=ROOT, env=os.environ | {"YARDTRUE_DESK_KEY": KEY}, stdout=subprocess.DEVNULL)
        self._await(True)

    def start(self) -> None:
        """Start at once, forked."""
        self.process = fork(live, self.port, self.database, str(self.cache))
        self._await(True)

    def kill(self) -> None:
        """kill -9 from outside."""
        if self.command:
            self.command.kill()
            self.command.wait()
            self.command = None
        elif self.process:
            self.process.kill()
            self.mourn()
        self.kills += 1

    def mourn(self) -> None:
        """Wait for the end of a server that was killed or told to die. Raises AssertionError when it ended otherwise."""
        assert self.process
        self.process.join()
        assert self.process.exitcode == -signal.SIGKILL, f"the server ended by itself: {self.process.exitcode}"

    def died(self) -> None:
        """A server told to die did so."""
        self.mourn()
        self.kills += 1

    def end(self) -> None:
        if self.command:
            self.command.kill()
            self.command.wait()
        elif self.process:
            self.process.kill()
            self.process.join()

    def _await(self, up: bool) -> None:
        """Until the port answers. Raises AssertionError when it stays silent."""
        end = time.monotonic() + PATIENCE
        while self.answers() is not up:
            assert time.monotonic() < end, "the server does not start"
            time.sleep(0.003)

    def answers(self) -> bool:
        with socket.socket() as probe:
            return probe.connect_ex(("127.0.0.1", self.port)) == 0
