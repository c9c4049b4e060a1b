"""A YardtrueError at the command line: one shape for every command."""

from __future__ import annotations

import json
from collections.abc import Callable

import click

from server.errors import YardtrueError


class Refusal(click.ClickException):
    """Every fault on a line of its own, under its place as `named` says it, or the JSON shape; exit 2."""

    exit_code = 2

    def __init__(self, error: YardtrueError, as_json: bool, named: Callable[[str], str] = str) -> None:
        self.shape, self.as_json, self.named = error.plain()["error"], as_json, named
        super().__init__(self.shape["message"])

    def show(self, file: object = None) -> None:
        if self.as_json:
            click.echo(json.dumps({"error": self.shape}, ensure_ascii=False))
            return
        click.echo(f"{self.shape['message']} {self.shape['fix']}", err=True)
        for fault in self.shape["faults"]:
            click.echo(f"  {self.named(fault['place'])}: {fault['message']} {fault['fix']}", err=True)
