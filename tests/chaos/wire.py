"""A faulty wire between phones and a server: what is sent may be dropped, doubled, held back or cut, and so may answers."""
from __future__ import annotations

import json
import random
import socket
import threading
from collections import Counter
from typing import Any

PATIENCE = 60.0
# How many deliveries of a hundred go wrong, each in its own way; the others arrive.
FAULTS = {
    "request dropped": 6, "answer dropped": 6, "doubled": 5, "held back": 5, "request cut": 4, "answer cut": 4,
}


def request(path: str, body: bytes, kind: str, cookie: str = "", **more: str) -> bytes:
    """A POST as it goes over the wire."""
    headers = {
        "Host": "127.0.0.1", "Content-Type": kind, "Content-Length": str(len(body)), "Connection": "close", "Cookie": cookie, **more,
    }
    lines = [f"POST {path} HTTP/1.1", *(f"{name}: {value}" for name, value in headers.items())]
    return "\r\n".join(lines).encode() + b"\r\n\r\n" + body


def exchange(port: int, sent: bytes, most: int | None = None) -> bytes:
    """Send these bytes on a connection of their own; what comes back, at most so many bytes, b"" where nothing does."""
    found = b""
    try:
        with socket.create_connection(("127.0.0.1", port), timeout=PATIENCE) as connection:
            connection.sendall(sent)
            while most is None or len(found) < most:
                part = connection.recv(65536)
                if not part:
                    break
                found += part
    except ConnectionError:
        pass
    return found[:most]


def read(answer: bytes) -> tuple[int, dict[str, str], bytes] | None:
    """Status, headers and body of an answer that came whole, else None."""
    head, gap, body = answer.partition(b"\r\n\r\n")
    first, *lines = head.decode("latin-1").split("\r\n")
    if not gap:
        return None
    headers = {name.lower(): value.strip() for name, _, value in (line.partition(":") for line in lines)}
    if len(body) < int(headers.get("content-length", 0)):
        return None
    return int(first.split()[1]), headers, body


def heard(answer: bytes) -> Any:
    """What a phone makes of an answer to its asking: the parsed body, None where it is none. Raises AssertionError."""
    found = read(answer)
    if found is None:
        return None
    status, _, body = found
    assert status == 200, f"{status}: {body[:300]!r}"
    return json.loads(body)


class Wire:
    """Carries askings of phones to a port; what it does wrong is drawn from `chance`, and counted."""

    def __init__(self, port: int, chance: random.Random) -> None:
        self.port, self.chance = port, chance
        self.counts: Counter[str] = Counter()
        self.lock = threading.Lock()
        self.back: list[tuple[int, bytes]] = []  # held back until so many deliveries were made
        self.faulty = True

    @property
    def deliveries(self) -> int:
        return self.counts["deliveries"]

    def count(self, what: str) -> None:
        with self.lock:
            self.counts[what] += 1

    def carry(self, sent: bytes) -> Any:
        """The answer to an asking as it reaches the phone, or None."""
        self._late()
        self.count("deliveries")
        fault = self._fault()
        if fault:
            self.count(fault)
            return heard(self._gone_wrong(fault, sent))
        return heard(exchange(self.port, sent))

    def _fault(self) -> str:
        if not self.faulty:
            return ""
        roll = self.chance.random() * 100
        for fault, share in FAULTS.items():
            roll -= share
            if roll < 0:
                return fault
        return ""

    def _gone_wrong(self, fault: str, sent: bytes) -> bytes:
        head = sent.index(b"\r\n\r\n") + 4
        if fault == "doubled":
            return self._twice(sent)
        if fault == "request cut":
            exchange(self.port, sent[: self.chance.randrange(head // 2, len(sent))], most=0)
        elif fault == "answer dropped":
            exchange(self.port, sent)
        elif fault == "answer cut":
            whole = exchange(self.port, sent)
            return whole[: self.chance.randrange(len(whole))] if whole else b""
        elif fault == "held back":
            with self.lock:
                self.back.append((self.deliveries + self.chance.randrange(1, 40), sent))
        return b""

    def _twice(self, sent: bytes) -> bytes:
        """The same asking on two connections at once; the phone hears the one it takes for its own."""
        self.count("deliveries")
        other = threading.Thread(target=exchange, args=(self.port, sent))
        other.start()
        answer = exchange(self.port, sent)
        other.join()
        return answer

    def _late(self) -> None:
        """What was held back long enough arrives now, after what was sent behind it; nobody waits for its answer any more."""
        with self.lock:
            due = [sent for turn, sent in self.back if turn <= self.deliveries or not self.faulty]
            self.back = [(turn, sent) for turn, sent in self.back if turn > self.deliveries and self.faulty]
        for sent in due:
            self.count("arrived out of order")
            exchange(self.port, sent)
