"""`yardtrue rehearse JOB`: virtual crews walk a job in many yards; one table for people, or JSON."""

from __future__ import annotations

import json
import sys
import time
from functools import partial

import click

from server import job, plan
from server.errors import YardtrueError
from server.job_files import job_id, job_path, job_text
from server.model import Plain
from server.refusal import Refusal
from server.rehearse import report, table, wanted
from server.words import sentence

OPTIONS = {"yards": "N", "seed": "S", "way": "WAY", "slips": "P", "tape": "LENGTH", "sigma": "LENGTH", "blocked": "K"}
QUIET = 2.0  # seconds between two words of progress


def option(name: str, metavar: str) -> click.Option:
    """An option that stays text here, so that every fault is found by one reader."""
    usual = wanted.USUAL[name]
    told = sentence(f"cli.rehearse.option.{name}")
    return click.Option([f"--{name}"], metavar=metavar, default="", help=f"{told} [{usual}]" if usual else told)


def document_of(path: str, wish: wanted.Wanted, spec: Plain) -> Plain:
    """The job's document, replanned for the tape wished. Raises YardtrueError."""
    if wish.tape:
        spec = spec | {"tape": wish.tape}
    return plan.plan(job_id(job_path(path).stem), spec).document


class Progress:
    """A line on stderr now and then, once a rehearsal takes long."""

    def __init__(self) -> None:
        self.said = time.monotonic()

    def __call__(self, done: int, of: int) -> None:
        if time.monotonic() - self.said >= QUIET and done < of:
            self.said = time.monotonic()
            click.echo(sentence("cli.rehearse.progress", {"done": str(done), "of": str(of)}), err=True)
            sys.stderr.flush()


def rehearse_job(job_file: str, as_json: bool, **typed: str) -> None:
    """Print the rehearsal. Raises Refusal."""
    try:
        spec = job.parse_text(job_text(job_file))
        wish = wanted.read(typed, job.units_of(spec))
        (found,) = report.rehearse([document_of(job_file, wish, spec)], wish, Progress())
    except YardtrueError as error:
        raise Refusal(error, as_json, partial(named, error)) from error
    for line in [json.dumps(found, ensure_ascii=False)] if as_json else table.lines(found):
        click.echo(line)


def named(error: YardtrueError, place: str) -> str:
    """A fault's place as it was typed: an option, or a place in the job file. Of the job only its tape is an option."""
    is_option = isinstance(error, wanted.RehearsalFaults) or place == "tape"
    return f"--{place}" if is_option else place


rehearse = click.Command(
    "rehearse",
    params=[
        click.Argument(["job_file"], metavar="JOB"),
        *(option(name, metavar) for name, metavar in OPTIONS.items()),
        click.Option(["--json", "as_json"], is_flag=True, help=sentence("cli.json")),
    ],
    callback=rehearse_job,
    help=sentence("cli.rehearse.help"),
)
