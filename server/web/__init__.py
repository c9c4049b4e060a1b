"""The web: desk pages, a small API, the phone's shell; one app over one store, and the ways it is served."""
from server.web.app import build_app, prepare
from server.web.behind import FORWARDED
from server.web.serving import Lan, check_ports, serve_plain

__all__ = ["FORWARDED", "Lan", "build_app", "check_ports", "prepare", "serve_plain"]
