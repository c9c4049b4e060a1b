"""The server of a chaos run: started, killed with -9, started again on the same file and port."""
from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

from tests.bench.standing import ROOT, free_port
from tests.entered import KEY

PATIENCE = 60.0


class Host:
    """A port and a database file, and whichever process serves them now. Its log is in `folder`/log."""

    def __init__(self, folder: Path) -> None:
        self.port = free_port()
        self.database = f"sqlite:///{folder / 'crew.sqlite3'}"
        self.log = (folder / "log").open("ab")
        self.environment = os.environ | {"YARDTRUE_DESK_KEY": KEY}
        self.nursery = self._python("tests.chaos.nursery", str(self.port), self.database, str(folder / "cache"))
        self.command: subprocess.Popen[str] | None = None
        self.process = 0
        self.kills = 0

    def _python(self, *arguments: str) -> subprocess.Popen[str]:
        pipe = subprocess.PIPE
        return subprocess.Popen(
            [sys.executable, "-m", *arguments], cwd=ROOT, env=self.environment, stdin=pipe, stdout=pipe, stderr=self.log, text=True,
        )

    def serve(self) -> None:
        """Start by the command that people use."""
        self.command = self._python("server", "serve", "--port", str(self.port), "--database", self.database)
        self._await(True)

    def start(self) -> None:
        """Start at once, from the nursery."""
        self.process = int(self._order("start"))
        self._await(True)

    def kill(self) -> None:
        """kill -9 from outside."""
        if self.command:
            self.command.kill()
            self.command.wait()
            self.command = None
        else:
            os.kill(self.process, signal.SIGKILL)
            self.mourn()
        self.kills += 1

    def mourn(self) -> None:
        """Wait for the end of a server that was killed or told to die. Raises AssertionError when it ended otherwise."""
        status = int(self._order(f"reap {self.process}"))
        killed = os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGKILL
        assert killed, f"the server ended by itself: {status}"

    def died(self) -> None:
        """A server told to die did so."""
        self.mourn()
        self.kills += 1

    def end(self) -> None:
        if self.command:
            self.command.kill()
            self.command.wait()
        elif self.process:
            os.kill(self.process, signal.SIGKILL)
        assert self.nursery.stdin
        self.nursery.stdin.close()
        self.nursery.wait()
        self.log.close()

    def _order(self, line: str) -> str:
        assert self.nursery.stdin
        assert self.nursery.stdout
        self.nursery.stdin.write(f"{line}\n")
        self.nursery.stdin.flush()
        return self.nursery.stdout.readline()

    def _await(self, up: bool) -> None:
        """Until the port answers. Raises AssertionError when it stays silent."""
        end = time.monotonic() + PATIENCE
        while self.answers() is not up:
            assert time.monotonic() < end, "the server does not start"
            time.sleep(0.003)

    def answers(self) -> bool:
        with socket.socket() as probe:
            return probe.connect_ex(("127.0.0.1", self.port)) == 0
