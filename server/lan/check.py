"""The desk looks at itself as a phone would: a real handshake, trusting its own authority alone."""

from __future__ import annotations

import socket
import ssl

OK, EXPIRED, EARLY, WRONG_NAME, UNTRUSTED, NO_ANSWER = "ok", "expired", "early", "wrong-name", "untrusted", "no-answer"
# X509_V_ERR_... of OpenSSL's x509_vfy.h
CODES = {9: EARLY, 10: EXPIRED, 62: WRONG_NAME, 64: WRONG_NAME, 47: WRONG_NAME, 48: WRONG_NAME}
PATIENCE = 5.0  # seconds


def check(host: str, port: int, root_pem: str, at: str | None = None) -> str:
    """What a phone that trusts this root would find at https://host:port; `at` is where to knock if not at the host."""
    context = ssl.create_default_context(cadata=root_pem)
    try:
        with (
            socket.create_connection((at or host, port), timeout=PATIENCE) as plain,
            context.wrap_socket(plain, server_hostname=host),
        ):
            return OK
    except ssl.SSLCertVerificationError as error:
        return CODES.get(error.verify_code, UNTRUSTED)
    except OSError:
        return NO_ANSWER
