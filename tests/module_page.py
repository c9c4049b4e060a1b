"""Compiled modules in a page: given as one text, served to one page, under the policy the phone has."""
import json
import math
from collections.abc import Mapping
from typing import Any

from playwright.sync_api import Page, Route

Vector = tuple[str, str, list[Any]]  # module, function, arguments

ORIGIN = "http://yardtrue.test/"
POLICY = "default-src 'none'; script-src 'self'"
PAGE = "<!doctype html><title>Compiled modules</title><script type=module src=/run.js></script>"
RUNNER = """
import * as modules from "/field.js";
const plain = (x) => {
  if (x === undefined) return { undefined: true };
  if (typeof x === "number" && !Number.isFinite(x)) return { number: String(x) };
  if (Array.isArray(x)) return x.map(plain);
  if (typeof x !== "object" || x === null) return x;
  return Object.fromEntries(Object.entries(x).map(([key, value]) => [key, plain(value)]));
};
const named = (x) => typeof x === "object" && x !== null && typeof x.shared === "string";
const answer = ([name, called, given], shared) => {
  const handed = given.map((x) => (named(x) ? shared[x.shared] : x));
  try {
    const value = modules[name][called](...handed);
    return { value: plain(value), after: given.map((x, i) => (named(x) ? x : plain(handed[i]))) };
  } catch (problem) {
    return { raised: problem.name, text: problem.message };
  }
};
globalThis.answers = (text, kept) => {
  const shared = JSON.parse(kept);
  return JSON.stringify(JSON.parse(text).map((call) => answer(call, shared)));
};
"""


def serve_modules(page: Page, modules: str) -> None:
    """Open a page that can import the modules (all in one text) and nothing else."""
    files = {"field.js": (modules, "text/javascript"), "run.js": (RUNNER, "text/javascript"), "": (PAGE, "text/html")}

    def answer(route: Route) -> None:
        found = files.get(route.request.url.removeprefix(ORIGIN))
        if found is None:
            route.fulfill(status=404)
        else:
            headers = {"Content-Type": f"{found[1]}; charset=utf-8", "Content-Security-Policy": POLICY}
            route.fulfill(status=200, body=found[0], headers=headers)

    page.route("**/*", answer)
    page.goto(ORIGIN)
    page.wait_for_function("globalThis.answers !== undefined")


def call_all(page: Page, calls: list[Vector], shared: Mapping[str, Any]) -> list[dict[str, Any]]:
    """What each call (module, function, arguments) gives in the page: {"value", "after"} or {"raised", "text"}.

    An argument {"shared": key} stands for shared[key]; "after" is the arguments as the call left them.
    """
    texts = [json.dumps(calls), json.dumps(shared)]
    found: list[dict[str, Any]] = json.loads(page.evaluate("([calls, shared]) => answers(calls, shared)", texts))
    return found


def alike(ours: Any, theirs: Any) -> bool:
    """Whether an answer from the page is the answer CPython gives: floats to 1e-12, the rest to the letter."""
    if isinstance(ours, list | tuple):
        return isinstance(theirs, list) and len(ours) == len(theirs) and all(map(alike, ours, theirs))
    if isinstance(ours, dict):
        same = isinstance(theirs, dict) and ours.keys() == theirs.keys()
        return same and all(alike(ours[key], theirs[key]) for key in ours)
    if isinstance(ours, float):
        number = isinstance(theirs, int | float) and not isinstance(theirs, bool)
        return number and math.isclose(ours, theirs, rel_tol=1e-12, abs_tol=1e-12)
    return type(ours) is type(theirs) and ours == theirs
