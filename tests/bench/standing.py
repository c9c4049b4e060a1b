"""Servers as processes of their own, so that a phone can be left alone: killed, and known to be dead."""
from __future__ import annotations

import http.client
import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from tests.entered import KEY

ROOT = Path(__file__).resolve().parents[2]
PATIENCE = 30.0
ENTERED = os.environ | {"YARDTRUE_DESK_KEY": KEY}


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


class Server:
    """One server process on a loopback port."""

    def __init__(self, *command: str, port: int) -> None:
        self.port = port
        self.address = f"http://127.0.0.1:{port}"
        quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
        self.process = subprocess.Popen([sys.executable, "-m", *command], cwd=ROOT, env=ENTERED, **quiet)

    def await_answer(self) -> None:
        """Until it answers. Raises RuntimeError when it has ended or stays silent."""
        end = time.monotonic() + PATIENCE
        while not self.answers():
            if self.process.poll() is not None or time.monotonic() > end:
                raise RuntimeError(f"no answer from {self.address}")
            time.sleep(0.1)

    def answers(self) -> bool:
        with socket.socket() as probe:
            return probe.connect_ex(("127.0.0.1", self.port)) == 0

    def kill(self) -> None:
        """End the process. Raises RuntimeError when its port still answers."""
        self.process.kill()
        self.process.wait()
        if self.answers():
            raise RuntimeError(f"{self.address} answers although its server is dead")

    def connection(self) -> http.client.HTTPConnection:
        return http.client.HTTPConnection("127.0.0.1", self.port, timeout=PATIENCE)


@contextmanager
def standing(module: str, *arguments: str) -> Iterator[Server]:
    """`python -m module arguments`, every {port} filled in, answering; dead at the end."""
    port = free_port()
    server = Server(module, *(argument.replace("{port}", str(port)) for argument in arguments), port=port)
    try:
        server.await_answer()
        yield server
    finally:
        if server.process.poll() is None:
            server.kill()


def yardtrue(folder: Path) -> list[str]:
    """The arguments for `standing` that serve Yardtrue on a new database in a folder."""
    return ["server", "serve", "--port", "{port}", "--database", f"sqlite:///{folder / 'bench.sqlite3'}"]
