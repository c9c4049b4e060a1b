"""`yardtrue serve`: on this machine alone, behind a proxy, or on the house's own network under TLS."""

from __future__ import annotations

import io
from dataclasses import dataclass

import click
import segno

from server import web
from server.errors import YardtrueError
from server.lan.addresses import in_url, is_address, own_reach
from server.lan.authority import day
from server.lan.keeper import Keeper, Wish
from server.lan.told import rows
from server.model import Plain
from server.places import data_folder
from server.refusal import Refusal
from server.words import sentence

LOOPBACK = "127.0.0.1"


@dataclass(frozen=True)
class Options:
    """Everything `yardtrue serve` can be told."""

    host: str | None
    port: int
    database: str | None
    names: tuple[str, ...]
    lan: bool
    lan_port: int
    trust_port: int
    new_authority: bool
    behind_proxy: bool


@click.command(help=sentence("cli.serve"))
@click.option("--host", default=None, help=sentence("cli.serve.host"))
@click.option("--port", default=8124, show_default=True, help=sentence("cli.serve.port"))
@click.option("--database", default=None, help=sentence("cli.database"))
@click.option("--name", "names", multiple=True, help=sentence("cli.name"))
@click.option("--lan", is_flag=True, help=sentence("cli.serve.lan"))
@click.option("--lan-port", default=8443, show_default=True, help=sentence("cli.serve.lan-port"))
@click.option("--trust-port", default=8125, show_default=True, help=sentence("cli.serve.trust-port"))
@click.option("--new-authority", is_flag=True, help=sentence("cli.serve.new-authority"))
@click.option("--behind-proxy", is_flag=True, help=sentence("cli.serve.behind-proxy"))
def serve(**given: object) -> None:
    options = Options(**given)  # type: ignore[arg-type]
    try:
        check_together(options)
        if options.lan:
            serve_lan(options)
        else:
            serve_here(options)
    except YardtrueError as error:
        raise Refusal(error, as_json=False) from error


def check_together(options: Options) -> None:
    """What cannot go together, or would leave a door open. Raises YardtrueError."""
    if options.lan and options.behind_proxy:
        raise YardtrueError("serve-two-ways")
    if options.new_authority and not options.lan:
        raise YardtrueError("serve-authority-alone")
    if options.lan:
        return
    if options.host and not is_loopback(options.host):
        raise YardtrueError("serve-open-host", slots={"host": options.host})
    if options.behind_proxy and not options.names:
        raise YardtrueError("serve-proxy-name")


def is_loopback(host: str) -> bool:
    """This machine alone: an address that starts with 127., ::1, or a localhost name."""
    if is_address(host):
        return host.startswith("127.") or host == "::1"
    return host == "localhost" or host.endswith(".localhost")


def serve_here(options: Options) -> None:
    """This machine alone, straight or for a proxy on it."""
    host = options.host or LOOPBACK
    config = {"ALLOWED_HOSTS": (host, *options.names), "BEHIND_PROXY": options.behind_proxy}
    app, key = web.prepare(options.database, config)
    say(greeting(f"http://{in_url(host)}:{options.port}/", key))
    if options.behind_proxy:
        slots = {"address": f"http://{in_url(host)}:{options.port}", "names": ", ".join(options.names)}
        click.echo(sentence("cli.serve.proxy", slots | {"headers": ", ".join(web.FORWARDED)}))
    web.serve_plain(app, host, options.port)


def serve_lan(options: Options) -> None:
    """The house's own network; first what a person has to know. Raises YardtrueError."""
    wish = Wish(options.host, options.names, options.lan_port, options.trust_port)
    keeper = Keeper(data_folder() / "lan", wish)
    own_reach(wish.host, wish.names)
    web.check_ports([(LOOPBACK, options.port), (wish.listens, wish.trust_port), (wish.listens, wish.port)])
    old = keeper.kept_fingerprint() if options.new_authority else ""
    keeper.open(anew=options.new_authority)
    app, key = web.prepare(options.database, {"ALLOWED_HOSTS": keeper.standing.reach.all})
    say(greeting(f"http://{LOOPBACK}:{options.port}/", key))  # before anything can fail: the key is shown this once
    server = web.Lan(app, keeper, options.port)
    say(told(keeper, old))
    server.run(say_message)


def told(keeper: Keeper, old: str) -> list[str]:
    """Lines for the terminal: addresses, the code to scan, the authority and what it vouches for."""
    slots = {
        "origin": f"{keeper.origin}/", "page": f"{keeper.trust_origin}/", "ends": day(keeper.standing.leaf.ends),
        "vouches": ", ".join(keeper.authority.vouches.all), "path": str(keeper.folder), "old": old,
    }
    keys = [*(["lan.made"] if keeper.made else []), *(["lan.replaced"] if old else [])]
    lines = [sentence(key, slots) for key in (*keys, "lan.serving", "lan.page")]
    lines += ["", terminal_code(keeper.trust_origin + "/"), sentence("lan.fingerprint"), ""]
    lines += [f"  {row}" for row in rows(keeper.authority.fingerprint)]
    lines += ["", sentence("lan.vouches", slots)]
    concern = keeper.concern()
    return [*lines, *([sentence(concern["key"], concern["slots"])] if concern else [])]


def terminal_code(text: str) -> str:
    """A QR code in half-height blocks."""
    out = io.StringIO()
    segno.make(text, micro=False).terminal(out, border=2, compact=True)
    return out.getvalue()


def greeting(address: str, key: str) -> list[str]:
    """What a server says when it starts; a key just made is in the address's fragment, which no log or referrer has."""
    if not key:
        return [sentence("cli.serving", {"address": address})]
    return [sentence("cli.serving", {"address": f"{address}enter#{key}"}), sentence("cli.key-once", {"key": key})]


def say(lines: list[str]) -> None:
    for line in lines:
        click.echo(line)


def say_message(message: Plain) -> None:
    click.echo(sentence(message["key"], message["slots"]))
