"""The frame of a job: beams and posts in place, each member checked against the tables of its edition."""

from server.framing.checks import failing
from server.framing.findings import broken, frame
from server.framing.placing import even_posts
from server.framing.sheet import sheet

__all__ = ["broken", "even_posts", "failing", "frame", "sheet"]
