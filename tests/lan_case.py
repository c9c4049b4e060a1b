"""What the tests of the local network share: a clock that is set by hand, an authority in a folder, a server under TLS."""
from __future__ import annotations

import http.client
import socket
import ssl
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from cryptography import x509
from flask import Response, request

from server.errors import YardtrueError
from server.lan.keeper import Keeper, Wish
from server.web import Lan
from tests.entered import desk_app

HOST, NAME = "127.0.0.2", "yard.localhost"  # a machine without a network still has these
PATIENCE = 20.0


class Clock:
    """The time, as a test sets it."""

    def __init__(self, moment: datetime | None = None) -> None:
        self.moment = moment or datetime.now(UTC)

    def __call__(self) -> datetime:
        return self.moment

    def go(self, **by: float) -> None:
        self.moment += timedelta(**by)


class Moving:
    """The addresses a machine has, as a test changes them."""

    def __init__(self, *addresses: str) -> None:
        self.addresses: Sequence[str] = addresses

    def __call__(self) -> Sequence[str]:
        return self.addresses


def code_of(call: Callable[..., object], *arguments: object) -> str:
    """The code of the error a call ends in; its sentence and its way out are there."""
    with pytest.raises(YardtrueError) as caught:
        call(*arguments)
    shape = caught.value.plain()["error"]
    assert shape["message"]
    assert shape["fix"]
    assert "{" not in shape["message"] + shape["fix"]
    return caught.value.code


def free_port(host: str = HOST) -> int:
    with socket.socket() as probe:
        probe.bind((host, 0))
        return int(probe.getsockname()[1])


def keeper_at(folder: Path, clock: Clock | None = None, **wish: Any) -> Keeper:
    """A keeper at this machine's second loopback address, opened."""
    wish = {"host": HOST, "names": (NAME,), "port": free_port(), "trust_port": free_port()} | wish
    return Keeper(folder / "lan", Wish(**wish), clock or Clock()).open()


@contextmanager
def lan(folder: Path, clock: Clock | None = None, **wish: Any) -> Iterator[Lan]:
    """The whole of `yardtrue serve --lan`, in this process."""
    app = desk_app(folder, demo=True)
    server = Lan(app, keeper_at(folder, clock, **wish), free_port("127.0.0.1"))
    thread = threading.Thread(target=server.run, args=([].append, 3600.0), daemon=True)
    thread.start()
    until_answers(HOST, server.keeper.wish.port)
    try:
        yield server
    finally:
        server.stop()
        thread.join(PATIENCE)


def until_answers(host: str, port: int) -> None:
    """Raises TimeoutError."""
    end = time.monotonic() + PATIENCE
    while True:
        with socket.socket() as probe:
            if probe.connect_ex((host, port)) == 0:
                return
        if time.monotonic() > end:
            raise TimeoutError((host, port))
        time.sleep(0.05)


def shown(host: str, port: int) -> x509.Certificate:
    """The certificate a server shows, believed or not."""
    return x509.load_pem_x509_certificate(ssl.get_server_certificate((host, port), timeout=PATIENCE).encode())


def trusting(server: Lan) -> ssl.SSLContext:
    return ssl.create_default_context(cadata=server.keeper.authority.root_pem)


def got(server: Lan, path: str, host: str = HOST, **headers: str) -> tuple[http.client.HTTPResponse, str]:
    """An answer over TLS that was believed."""
    line = http.client.HTTPSConnection(HOST, server.keeper.wish.port, context=trusting(server), timeout=PATIENCE)
    line.request("GET", path, headers={"Host": f"{host}:{server.keeper.wish.port}", **headers})
    answer = line.getresponse()
    text = answer.read().decode()
    line.close()
    return answer, text


def plainly(port: int, path: str, host: str = HOST) -> tuple[http.client.HTTPResponse, bytes]:
    """An answer over plain HTTP."""
    line = http.client.HTTPConnection(HOST, port, timeout=PATIENCE)
    line.request("GET", path, headers={"Host": f"{host}:{port}"})
    answer = line.getresponse()
    body = answer.read()
    line.close()
    return answer, body


def told_scheme(response: Response) -> Response:
    """Each answer says how its request was seen."""
    response.headers["Seen-As"] = f"{request.scheme} {request.is_secure}"
    return response
