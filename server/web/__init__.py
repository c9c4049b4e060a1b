"""The web: desk pages, a small API, the phone's shell; one app over one store."""
from server.web.app import build_app, serve

__all__ = ["build_app", "serve"]
