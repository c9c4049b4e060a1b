"""Frames found for a deck whose frame was left open: a catalogue searched whole, what is beaten left out."""

from server.choosing.blocking import blocked
from server.choosing.catalogue import FULL, Catalogue
from server.choosing.found import option
from server.choosing.members import Members
from server.choosing.options import COLUMNS, Choice, Line, Option
from server.choosing.search import Search
from server.model import Job

__all__ = ["COLUMNS", "FULL", "Catalogue", "Choice", "Line", "Option", "frames"]


def frames(job: Job, catalogue: Catalogue = FULL) -> Choice:
    """Every frame of the catalogue that fits the job and that no other beats; where there is none, what blocks.

    The job's species is said. Joists the job names are kept to. Raises NotInTables for a name no table knows.
    """
    search = Search(Members(job, catalogue))
    best = search.run()
    options = sorted((option(search, *one) for one in best), key=lambda option: option.columns)
    return Choice(tuple(options), search.tried, () if options else blocked(job, catalogue))
