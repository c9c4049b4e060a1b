"""`yardtrue backup FILE` and `yardtrue restore FILE`: everything a database holds, in one file and back."""

from __future__ import annotations

from pathlib import Path

import click

from server.errors import YardtrueError
from server.refusal import Refusal
from server.store import open_store, write_backup
from server.store import restore as put_back
from server.words import sentence

FILE = click.Path(path_type=Path, dir_okay=False)


@click.command(help=sentence("cli.backup"))
@click.argument("file", type=FILE)
@click.option("--database", default=None, help=sentence("cli.database"))
@click.option("--force", is_flag=True, help=sentence("cli.backup.force"))
def backup(file: Path, database: str | None, force: bool) -> None:
    try:
        rows = write_backup(open_store(database), file, force)
    except YardtrueError as error:
        raise Refusal(error, as_json=False) from error
    click.echo(sentence("cli.backup-done", {"path": str(file), **counted(rows)}))


@click.command(help=sentence("cli.restore"))
@click.argument("file", type=FILE)
@click.option("--database", default=None, help=sentence("cli.database"))
@click.option("--replace", is_flag=True, help=sentence("cli.restore.replace"))
def restore(file: Path, database: str | None, replace: bool) -> None:
    try:
        found = put_back(open_store(database), file, replace)
    except YardtrueError as error:
        raise Refusal(error, as_json=False) from error
    click.echo(sentence("cli.restore-done", {"made": found.made, **counted(found.rows)}))
    click.echo(sentence("cli.restore-then", {"made": found.made}))


def counted(rows: dict[str, int]) -> dict[str, str]:
    return {name: str(count) for name, count in rows.items()}
