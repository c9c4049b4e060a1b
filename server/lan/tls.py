"""The HTTPS server: cheroot, shaking hands in its workers, so that a phone walking out of range holds up nobody."""

from __future__ import annotations

import logging
import os
import socket
import ssl
import sys
from pathlib import Path
from typing import Any

from cheroot.server import HTTPConnection
from cheroot.ssl.builtin import BuiltinSSLAdapter
from cheroot.wsgi import Server

from server.words import sentence

LOG = logging.getLogger("yardtrue.lan")
THREADS = 40  # a connection that says nothing yet holds one
KEPT = 400  # connections that wait between two requests hold none; a phone opens about six
SECURE = {"wsgi.url_scheme": "https", "HTTPS": "on"}


class Adapter(BuiltinSSLAdapter):
    """TLS whose handshake comes later, in the worker; its certificate can be changed while it serves."""

    def __init__(self, pem: Path) -> None:
        super().__init__(str(pem), str(pem))
        self.context.minimum_version = ssl.TLSVersion.TLSv1_2

    def wrap(self, sock: socket.socket) -> tuple[ssl.SSLSocket, dict[str, str]]:
        wrapped = self.context.wrap_socket(sock, server_side=True, do_handshake_on_connect=False)
        return wrapped, dict(SECURE)

    def load(self, pem: Path) -> None:
        """Show this certificate from the next handshake on."""
        self.context.load_cert_chain(str(pem))


class Connection(HTTPConnection):
    """One phone's connection; shakes hands before the first request."""

    shaken = False

    def communicate(self) -> bool:
        if not self.shaken and not self.shake():
            return False
        return bool(super().communicate())  # type: ignore[no-untyped-call]

    def shake(self) -> bool:
        """Whether TLS is up. Plain HTTP gets a sentence."""
        try:
            self.socket.do_handshake()
        except ssl.SSLError as error:
            if error.reason == "HTTP_REQUEST":
                self.answer_plainly()
            return False
        except OSError:
            return False
        self.shaken = True
        return True

    def answer_plainly(self) -> None:
        text = sentence("lan.speaks-https").encode()
        head = f"HTTP/1.1 400 Bad Request\r\nContent-Type: text/plain; charset=utf-8\r\nContent-Length: {len(text)}\r\n"
        with socket.socket(fileno=os.dup(self.socket.fileno())) as plain:  # the server still closes its own
            plain.sendall(head.encode() + b"Connection: close\r\n\r\n" + text)


class PhoneServer(Server):
    """cheroot, which has nothing to say of a phone that left in the middle of an answer."""

    def error_log(self, msg: str = "", level: int = logging.INFO, traceback: bool = False) -> None:
        lost = isinstance(sys.exception(), OSError)
        LOG.log(logging.DEBUG if lost else level, "%s", msg, exc_info=traceback and not lost)


def tls_server(app: Any, host: str, port: int, pem: Path) -> PhoneServer:
    """A server ready to bind: `prepare()`, `serve()`, `stop()`."""
    server = PhoneServer((host, port), app, numthreads=THREADS, server_name="yardtrue", request_queue_size=64)
    server.ConnectionClass = Connection
    server.keep_alive_conn_limit = KEPT
    server.ssl_adapter = Adapter(pem)
    return server
