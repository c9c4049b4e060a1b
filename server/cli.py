"""`yardtrue serve | plan | bundle | walk | span | rehearse`: every face of a job that is not the phone."""

from __future__ import annotations

import json
import shutil
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path

import click

from server import job, offer, plan, shell_tree, talk
from server.backup_cli import backup, restore
from server.book import Book, open_book
from server.choosing import Choice
from server.errors import YardtrueError
from server.field import tape
from server.job_files import job_id, job_path, job_text
from server.model import Bundle, Plain
from server.refusal import Refusal
from server.rehearse_cli import rehearse
from server.serve_cli import serve
from server.span_cli import span
from server.store import open_store
from server.words import sentence


def read_job(path: str, as_json: bool = False, before: Sequence[str] = ()) -> Bundle:
    """Plan the job file at a path, or the demo job of that name, after those it was before. Raises Refusal."""
    try:
        name = job_id(job_path(path).stem)
        return plan.plan_job(name, job.read_text(job_text(path)), earlier_of(name, before))
    except YardtrueError as error:
        raise Refusal(error, as_json) from error


def earlier_of(name: str, before: Sequence[str]) -> list[plan.Earlier]:
    """Earlier job files, the newest first, each by the digests it was walked under: alone, and after those before."""
    specs = []
    for path in before:
        job.read_text(job_text(path))
        specs.append(json.loads(job_text(path)))
    found: list[plan.Earlier] = []
    for spec in reversed(specs):
        digests = {plan.plan(name, spec).digest, plan.plan(name, spec, found).digest}
        found = [*((digest, spec) for digest in sorted(digests)), *found]
    return found


@click.group(help=sentence("cli.help"))
@click.version_option(package_name="yardtrue")
def main() -> None:
    pass


main.add_command(span)
main.add_command(rehearse)
main.add_command(serve)
main.add_command(backup)
main.add_command(restore)


@main.command(name="desk-key", help=sentence("cli.desk-key"))
@click.option("--database", default=None, help=sentence("cli.database"))
def desk_key(database: str | None) -> None:
    try:
        key = open_store(database).new_desk_key()
    except YardtrueError as error:
        raise Refusal(error, as_json=False) from error
    click.echo(sentence("cli.key-new", {"key": key}))


@main.command(name="plan", help=sentence("cli.plan"))
@click.argument("job_file", metavar="JOB")
@click.option("--json", "as_json", is_flag=True, help=sentence("cli.json"))
@click.option("--pick", type=int, help=sentence("cli.pick"))
@click.option("-o", "--out", type=click.Path(path_type=Path, dir_okay=False), help=sentence("cli.pick-out"))
def show_plan(job_file: str, as_json: bool, pick: int | None, out: Path | None) -> None:
    try:
        wanted = job.read_text(job_text(job_file))
        if pick is not None:
            job_file = put_in(job_file, pick, out or Path(job_file))
        elif wanted.open:
            show_frames(plan.choose(wanted), wanted.units, as_json)
            return
    except YardtrueError as error:
        raise Refusal(error, as_json) from error
    bundle = read_job(job_file, as_json)
    for line in [bundle.text] if as_json else plan_lines(bundle.document):
        click.echo(line)


def put_in(job_file: str, pick: int, out: Path) -> str:
    """Write a job left open with one of its frames put in; the path of the file written. Raises YardtrueError."""
    spec = json.loads(job_text(job_file))
    wanted = job.read(spec)
    if not wanted.open:
        raise YardtrueError("frame-given")
    picked = plan.pick(spec, plan.choose(wanted), pick)
    try:
        if not out.suffix:
            raise OSError(sentence("errors.pick-out.demo"))
        out.write_text(json.dumps(picked, ensure_ascii=False, indent=2) + "\n", encoding="utf-8")
    except OSError as error:
        raise YardtrueError("pick-out", slots={"path": str(out), "why": error.strerror or str(error)}) from error
    return str(out)


def show_frames(choice: Choice, units: str, as_json: bool) -> None:
    """The frames of a job left open: a table for people, or JSON."""
    if as_json:
        rows = [{"number": n, **asdict(option), "spec": option.spec()} for n, option in enumerate(choice.frames, 1)]
        blocked = [message.plain() for message in choice.blocked]
        click.echo(json.dumps({"frames": rows, "tried": choice.tried, "blocked": blocked}, ensure_ascii=False))
        return
    for line in offer.lines(choice, units):
        click.echo(line)


def plan_lines(document: Plain) -> list[str]:
    """A plan for people: findings, then every reading under its step."""
    units = document["job"]["units"]
    lines = [document["job"]["name"], ""]
    lines += [f"! {sentence(one['key'], one['slots'], units)}" for one in document["findings"]]
    titles = {step["id"]: sentence(step["title"]["key"], step["title"]["slots"], units) for step in document["steps"]}
    group = ""
    for row in document["readings"]:
        if row["group"] != group:
            group = row["group"]
            lines += ["", titles[group]]
        shown, total = tape.show(row["inches"], units), tape.total(row["inches"], units)
        lines.append(f"  {shown:>14}  {total:>12}  {sentence(row['what']['key'], row['what']['slots'], units)}")
    return lines


@main.command(name="bundle", help=sentence("cli.bundle"))
@click.argument("job_file", metavar="JOB")
@click.option("-o", "--out", required=True, type=click.Path(path_type=Path, file_okay=False))
def write_bundle(job_file: str, out: Path) -> None:
    bundle = read_job(job_file)
    if out.exists() and any(out.iterdir()) and not (out / shell_tree.INDEX).is_file():
        raise Refusal(YardtrueError("folder-not-empty", slots={"path": str(out)}), as_json=False)
    files = shell_tree.whole_tree([bundle])
    with tempfile.TemporaryDirectory(dir=out.parent if out.parent.is_dir() else None) as work:
        for path, content in files.items():
            place = Path(work) / "tree" / path
            place.parent.mkdir(parents=True, exist_ok=True)
            place.write_bytes(content)
        out.parent.mkdir(parents=True, exist_ok=True)
        shutil.rmtree(out, ignore_errors=True)
        shutil.move(Path(work) / "tree", out)
    click.echo(sentence("cli.bundle-done", {"path": str(out), "files": str(len(files))}))


@main.command(name="walk", help=sentence("cli.walk"))
@click.argument("job_file", metavar="JOB")
@click.option("--json", "as_json", is_flag=True, help=sentence("cli.json-lines"))
@click.option("--book", type=click.Path(path_type=Path, dir_okay=False), help=sentence("cli.book"))
@click.option("--way", help=sentence("cli.way"))
@click.option("--after", help=sentence("cli.after"))
@click.option("--earlier", "before", multiple=True, metavar="JOB", help=sentence("cli.earlier"))
def walk_job(
    job_file: str, as_json: bool, book: Path | None, way: str | None, after: str | None, before: tuple[str, ...]
) -> None:
    document = read_job(job_file, as_json, before).document
    with tempfile.TemporaryDirectory() as work:
        try:
            walker = talk.Walker(document, open_walk_book(book or Path(work) / "book", document))
            if way is not None:
                walker.choose(way)
            if after is not None:
                walker.after(after)
            (lines if as_json else conversation)(walker)
        except YardtrueError as error:
            raise Refusal(error, as_json) from error
        except OSError as error:
            slots = {"path": str(book), "why": error.strerror or ""}
            raise Refusal(YardtrueError("book-file", slots=slots), as_json) from error


def open_walk_book(path: Path, document: Plain) -> Book:
    """The field book of a walk; a line torn off by a crash is said on the way in."""
    book = open_book(path, document)
    if book.torn:
        click.echo(sentence("cli.torn", {"path": str(path)}), err=True)
    return book


def lines(walker: talk.Walker) -> None:
    """JSON lines: an object out, an answer in, until the end or until the input closes."""
    out = talk.converse(walker)
    line: Plain | None = next(out)
    while line is not None:
        click.echo(json.dumps(line, ensure_ascii=False))
        sys.stdout.flush()
        if "ask" in line:
            answer = sys.stdin.readline()
            if not answer:
                return
            line = out.send(answer)
        else:
            line = next(out, None)


def conversation(walker: talk.Walker) -> None:
    """A person at the terminal; the book keeps every answer, so stopping loses nothing."""
    try:
        talk.speak(walker, input, click.echo)
    except (EOFError, KeyboardInterrupt):
        click.echo(sentence("cli.stopped"))
