"""A job rehearsed at the desk: a form, two pictures, the same in tables. By GET; what was walked once is kept."""
from __future__ import annotations

import hashlib
import json
from dataclasses import asdict, replace
from threading import Lock

from flask import Blueprint, render_template, request
from markupsafe import Markup

from server.errors import JobFaults
from server.field import tape
from server.model import WAYS, Bundle, Plain
from server.rehearse import picture, report, table, wanted
from server.store import Saved
from server.web import bundles, forms

blueprint = Blueprint("rehearsals", __name__)
MOST_YARDS = 60
FIELDS = ("yards", "slips", "tape", "way")
OTHERS = {"inch": ("16'", "25'", "30'"), "millimetre": ("5 m", "8 m", "10 m")}
AT_WORK = Lock()  # one rehearsal at a time: each takes every processor there is


@blueprint.get("/jobs/<job_id>/rehearse")
def page(job_id: str) -> str | tuple[str, int]:
    """The form alone; with a query, what the crews made of it, or the faults at their fields."""
    saved, bundle = bundles.planned(job_id)
    head = bundle.document["job"]
    usual = {"yards": "30", "slips": "0 %", "tape": own_tape(bundle), "way": wanted.BOTH}
    typed = {name: request.args.get(name, usual[name]) for name in FIELDS}
    shown: Plain = {"id": job_id, "head": head, "typed": typed, "ways": (wanted.BOTH, *WAYS), "faults": {}}
    shown |= {"others": "others" in request.args, "tapes": OTHERS[head["units"]], "most": MOST_YARDS}
    if not request.args:
        return render_template("rehearse.html", **shown)
    try:
        wish = wanted.read(typed, head["units"], MOST_YARDS)
        return render_template("rehearse.html", **shown, **rehearsed(saved, wish, "others" in request.args))
    except (wanted.RehearsalFaults, JobFaults) as error:
        faults = forms.by_field(error.plain(head["units"])["error"]["faults"], FIELDS)
        return render_template("rehearse.html", **shown | {"faults": faults}), 400


def own_tape(bundle: Bundle) -> str:
    return str(tape.show(bundle.document["yard"]["tape"]["length"], bundle.document["job"]["units"]))


def with_tape(saved: Saved, length: str) -> Bundle:
    """The job planned for a tape. Raises JobFaults."""
    return bundles.bundle_of(saved.id, saved.spec | ({"tape": length} if length else {}))


def rehearsed(saved: Saved, wish: wanted.Wanted, others: bool) -> Plain:
    """All that is shown of a rehearsal. Raises JobFaults."""
    bundle = with_tape(saved, wish.tape)
    (found,) = walked([bundle], wish)
    beside, short = besides(saved, bundle, wish) if others else ([], [])
    lines = [picture.Strip(table.crew_name(name), crew["worst_in"]) for name, crew in found["crews"].items()]
    way = one_way(bundle, wish)
    lines += [strip_of(one, way) for one in beside]
    return {
        "report": found,
        "heading": table.heading(found),
        "names": [table.crew_name(name) for name in found["crews"]],
        "rows": table.rows_of(found),
        "notes": table.foot(found),
        "strips": drawn(picture.strips(lines, found["tolerance_in"], found["units"])),
        "curves": drawn(picture.curves(found["crews"])),
        "after": after_rows(found),
        "beside": tape_rows([found, *beside], way) if beside else [],
        "way": table.crew_name(way),
        "short": short,
    }


def besides(saved: Saved, bundle: Bundle, wish: wanted.Wanted) -> tuple[list[Plain], list[Plain]]:
    """Rehearsals with the other usual tapes, by one way; and what keeps a tape from this job, {"tape", "faults"}."""
    fits, short = [], []
    for length in OTHERS[bundle.document["job"]["units"]]:
        try:
            other = with_tape(saved, length)
        except JobFaults as error:
            short.append({"tape": length, "faults": error.plain()["error"]["faults"]})
            continue
        if other.document["yard"]["tape"]["length"] != bundle.document["yard"]["tape"]["length"]:
            fits.append(other)
    return walked(fits, replace(wish, ways=(one_way(bundle, wish),))), short


def one_way(bundle: Bundle, wish: wanted.Wanted) -> str:
    """The way by which tapes are compared: the one asked for, or the job's own."""
    return wish.ways[0] if len(wish.ways) == 1 else str(bundle.document["job"]["way"])


def walked(built: list[Bundle], wish: wanted.Wanted) -> list[Plain]:
    """A rehearsal of each bundle, from the cache where nothing changed; what is missing is walked all at once."""
    keys = [key_of(bundle, wish) for bundle in built]
    with AT_WORK:
        kept: list[Plain | None] = [bundles.cache.get(key) for key in keys]
        missing = [bundle.document for bundle, one in zip(built, kept, strict=True) if one is None]
        fresh = iter(report.rehearse(missing, wish) if missing else [])
        found = [next(fresh) if one is None else one for one in kept]
        for key, one in zip(keys, found, strict=True):
            bundles.cache.set(key, one)
    return found


def key_of(bundle: Bundle, wish: wanted.Wanted) -> str:
    """A rehearsal's key: the document, what was wished but for the tape (it is in the document), and our own code."""
    content = json.dumps([bundle.digest, bundles.builder_digest(), asdict(replace(wish, tape=""))], sort_keys=True)
    return "rehearsal " + hashlib.sha256(content.encode()).hexdigest()


def strip_of(found: Plain, way: str) -> picture.Strip:
    """The dots of one way with another tape."""
    told = table.text("with-tape", crew=table.crew_name(way), tape=tape_of(found))
    return picture.Strip(told, found["crews"][way]["worst_in"])


def tape_of(found: Plain) -> str:
    return str(tape.show(found["tape_in"], found["units"]))


def tape_rows(reports: list[Plain], way: str) -> list[Plain]:
    """One way with every tape, the shortest first: yards true, the worst mark, pulls and moves."""
    rows = []
    for one in sorted(reports, key=lambda report: float(report["tape_in"])):
        crew = one["crews"][way]
        worst = table.fine(crew["worst_95_in"], one["units"])
        cells = [table.share(crew["true"]), worst, table.counted(crew["pulls"]), table.counted(crew["moves"])]
        rows.append({"tape": tape_of(one), "cells": cells})
    return rows


def after_rows(found: Plain) -> list[tuple[int, list[str]]]:
    """The curves in words: pulls taken, and for each way the share of yards true."""
    lines = [crew["after_pulls"] for crew in found["crews"].values() if crew["after_pulls"]]
    most = max(len(line) for line in lines)
    return [(k, [table.share(line[min(k, len(line) - 1)]) for line in lines]) for k in range(most)]


def drawn(text: str) -> Markup:
    return Markup(text)  # noqa: S704 (our own drawing, escaped by its maker)
