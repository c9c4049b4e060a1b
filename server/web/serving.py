"""Serving: on this machine alone, or on the house's own network under TLS too."""
from __future__ import annotations

import socket
import threading
from collections.abc import Callable, Iterable
from typing import Any

import waitress
from flask import Flask

from server.errors import YardtrueError
from server.lan.keeper import EVERY, Keeper
from server.lan.tls import tls_server
from server.model import Plain
from server.web.trust_page import build_trust_app

THREADS = 8
LOOPBACK = "127.0.0.1"
Say = Callable[[Plain], None]


def bound(host: str, port: int, app: Any) -> Any:
    """A waitress bound to a port. Raises YardtrueError when the port is taken or not to be had."""
    try:
        return waitress.create_server(app, host=host, port=port, threads=THREADS, ident=None,
                                      clear_untrusted_proxy_headers=False)
    except (OSError, ValueError) as error:
        raise port_fault(host, port, error) from error


def check_ports(places: Iterable[tuple[str, int]]) -> None:
    """Raises YardtrueError for the first that cannot be listened at, before anything is made or changed."""
    for host, port in places:
        with socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET) as door:
            door.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                door.bind((host, port))
            except (OSError, OverflowError) as error:
                raise port_fault(host, port, error) from error


def port_fault(host: str, port: int, error: Exception) -> YardtrueError:
    why = getattr(error, "strerror", None) or str(error)
    return YardtrueError("lan-port", slots={"host": host, "port": str(port), "why": why})


def serve_plain(app: Flask, host: str, port: int) -> None:
    """This machine alone, until stopped."""
    bound(host, port, app).run()


class Lan:
    """The desk on loopback, the trust page on plain HTTP, and everything under TLS, bound and ready to run."""

    def __init__(self, app: Flask, keeper: Keeper, port: int) -> None:
        """Raises YardtrueError when a port is not to be had."""
        wish = keeper.wish
        self.app, self.keeper = app, keeper
        self.adopt()
        self.plain = [bound(LOOPBACK, port, app), bound(wish.listens, wish.trust_port, build_trust_app(keeper))]
        self.phones = tls_server(app, wish.listens, wish.port, keeper.standing.leaf.path)
        self.stopped = threading.Event()
        try:
            self.phones.prepare()
        except OSError as error:
            raise port_fault(wish.listens, wish.port, error) from error

    def run(self, say: Say, every: float = EVERY) -> None:
        """Serve until stopped."""
        for server in self.plain:
            threading.Thread(target=self.run_plain, args=(server,), daemon=True).start()
        threading.Thread(target=self.watch, args=(say, every), daemon=True).start()
        try:
            self.phones.serve()
        except KeyboardInterrupt:
            self.stop()

    def run_plain(self, server: Any) -> None:
        """One of waitress's; closed from another thread, it ends in the middle of waiting."""
        try:
            server.run()
        except OSError:
            if not self.stopped.is_set():
                raise

    def stop(self) -> None:
        self.stopped.set()
        for server in self.plain:
            server.close()
        self.phones.stop()

    def adopt(self) -> None:
        """The app answers to what the certificate vouches for, and says its links by the first of it."""
        self.app.extensions["lan"] = self.keeper
        self.app.config["PUBLIC_ORIGIN"] = self.keeper.origin
        self.app.config["ALLOWED_HOSTS"] = self.keeper.standing.reach.all

    def watch(self, say: Say, every: float) -> None:
        """Look again every so often, until stopped."""
        while True:
            for message in self.keeper.examine():
                say(message)
            if self.stopped.wait(every):
                return
            self.look(say)

    def look(self, say: Say) -> None:
        """Look again now; a new certificate is shown from the next handshake on."""
        serial = self.keeper.standing.leaf.serial
        for message in self.keeper.look():
            say(message)
        if self.keeper.standing.leaf.serial != serial:
            self.phones.ssl_adapter.load(self.keeper.standing.leaf.path)
        self.adopt()
