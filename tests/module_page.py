"""Compiled modules in a page: given as texts, served to one page, under the policy the phone has."""
import json
from collections.abc import Mapping
from typing import Any

from playwright.sync_api import Page, Route

ORIGIN = "http://yardtrue.test/"
POLICY = "default-src 'none'; script-src 'self'"
PAGE = "<!doctype html><title>Compiled modules</title><script type=module src=/run.js></script>"
RUNNER = """
const plain = (x) => (x === undefined ? { undefined: true } : typeof x === "number" && !Number.isFinite(x)
  ? { number: String(x) } : Array.isArray(x) ? x.map(plain) : typeof x === "object" && x !== null
  ? Object.fromEntries(Object.entries(x).map(([key, value]) => [key, plain(value)])) : x);
globalThis.answers = async (calls) => {
  const found = [];
  for (const [name, called, given] of calls) {
    try {
      const module = await import(`/${name}.js`);
      found.push({ value: plain(module[called](...given)), after: plain(given) });
    } catch (problem) {
      found.push({ raised: problem.name, text: problem.message });
    }
  }
  return found;
};
"""


def serve_modules(page: Page, modules: Mapping[str, str]) -> None:
    """Open a page that can import the modules (file name -> text) and nothing else."""
    files = {name: (text, "text/javascript") for name, text in modules.items()}
    files |= {"run.js": (RUNNER, "text/javascript"), "": (PAGE, "text/html")}

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


def call_all(page: Page, calls: list[tuple[str, str, list[Any]]]) -> list[dict[str, Any]]:
    """What each call (module, function, arguments) gives in the page: {"value", "after"} or {"raised", "text"}."""
    return json.loads(page.evaluate("async (calls) => JSON.stringify(await answers(JSON.parse(calls)))", json.dumps(calls)))
