"""The command line: a plan, a bundle folder, and the walk over JSON lines in a real process."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from server import talk
from server.cli import main
from server.field import tape
from tests.demo import Memory, document, spec
from tests.virtual_crew import Crew

COMMAND = [sys.executable, "-m", "server"]
ROOT = Path(__file__).resolve().parent.parent


class Process:
    """`yardtrue walk JOB --json` as another program drives it."""

    def __init__(self, *arguments: str) -> None:
        self.run = subprocess.Popen(
            [*COMMAND, "walk", *arguments, "--json"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            cwd=ROOT,
            encoding="utf-8",
        )

    def read(self) -> dict[str, Any]:
        assert self.run.stdout
        return dict(json.loads(self.run.stdout.readline()))

    def send(self, text: str) -> dict[str, Any]:
        assert self.run.stdin
        self.run.stdin.write(text + "\n")
        self.run.stdin.flush()
        return self.read()

    def stop(self) -> None:
        assert self.run.stdin
        self.run.stdin.close()
        assert self.run.wait(timeout=20) == 0


def test_a_crew_walks_the_deck_and_goes_on_from_its_book(tmp_path: Path) -> None:
    """Input closed twice on the way: the book keeps every answer and the walk goes on where it was."""
    book, crew = str(tmp_path / "book"), Crew(5)
    asks: list[dict[str, Any]] = []
    end: dict[str, Any] = {}
    while not end:
        process = Process("long-side-deck", "--book", book)
        crew.begin(process.read()["yard"])
        line = process.read()
        for _ in range(25):
            if "end" in line:
                end = line["end"]
                break
            asks.append(line)
            line = process.send(json.dumps(crew.answer(line)))
        process.stop()
    kinds = {ask["ask"] for ask in asks}
    assert {"heed", "set", "pull", "stake"} <= kinds
    assert all({"step", "say"} <= set(ask) for ask in asks)
    assert end["staked"] == [f"G1-{m}" for m in range(1, 6)]
    assert all(crew.off(point) < 0.75 for point in end["staked"])
    header, *entries = Path(book).read_text(encoding="utf-8").splitlines()
    assert json.loads(header)["kind"] == "yardtrue field book"
    assert len(entries) == len(asks)


@pytest.mark.parametrize(
    ("answer", "code"),
    [
        ("x", "answer-not-json"),
        ("[1]", "answer-not-json"),
        ("{}", "answer-bad"),
        ('{"done": "yes"}', "answer-bad"),
        ('{"undo": true}', "answer-no-undo"),
        ("[" * 3000, "answer-not-json"),
    ],
)
def test_a_malformed_answer_gets_its_error_and_the_same_ask_again(answer: str, code: str) -> None:
    talker = talk.converse(talk.Walker(document(), Memory()))  # type: ignore[arg-type]
    next(talker)
    ask = next(talker)
    error = talker.send(answer)
    assert error["error"]["code"] == code
    assert error["error"]["message"]
    assert next(talker) == ask


def test_a_bare_reading_is_asked_about_over_json_too() -> None:
    walker = talk.Walker(document(), Memory())  # type: ignore[arg-type]
    talker = talk.converse(walker)
    next(talker)
    line = next(talker)
    while line["ask"] != "pull":
        line = talker.send('{"done": true}')
    error = talker.send('{"reading": "350"}')
    assert error["error"]["code"] == "answer-ask"
    assert "29' 2\"" in error["error"]["message"]
    assert next(talker) == line


def test_undo_over_json_asks_the_last_thing_again() -> None:
    talker = talk.converse(talk.Walker(document(), Memory()))  # type: ignore[arg-type]
    next(talker)
    first = next(talker)
    assert talker.send('{"done": true}') != first
    assert talker.send('{"undo": true}') == first


def entries_of(path: str) -> list[dict[str, Any]]:
    return [json.loads(line) for line in Path(path).read_text(encoding="utf-8").splitlines()[1:]]


def test_a_way_is_chosen_once_and_the_book_goes_on_by_it(tmp_path: Path) -> None:
    book = str(tmp_path / "book")
    for _ in range(2):
        process = Process("long-side-deck", "--book", book, "--way", "whole frame")
        process.read()
        first = process.read()
        process.stop()
    (entry,) = entries_of(book)
    assert (entry["kind"], entry["way"], entry["step"], entry["act"]) == ("way", "whole frame", "", -1)
    process = Process("long-side-deck", "--book", book)
    process.read()
    assert process.read() == first
    line, steps = first, []
    while line["ask"] in ("heed", "set"):
        steps.append(line["step"])
        line = process.send('{"done": true}')
    process.stop()
    assert (line["ask"], line["step"], steps[-1]) == ("pull", "strings", "strings")
    assert "left-string" not in steps


def test_the_way_that_is_walked_already_writes_nothing(tmp_path: Path) -> None:
    book = str(tmp_path / "book")
    process = Process("long-side-deck", "--book", book, "--way", "string by string")
    process.read()
    process.stop()
    assert entries_of(book) == []


def test_undo_takes_back_an_answer_and_not_the_way() -> None:
    walker = talk.Walker(document(), Memory())  # type: ignore[arg-type]
    first = walker.ask()
    walker.take(first, {"done": True})
    walker.choose("whole frame")
    assert walker.undo(walker.last_step())
    assert walker.ask() == first
    assert walker.state["way"] == "whole frame"


@pytest.mark.parametrize("given", ["by eye", "", "Whole Frame"])
def test_a_way_that_is_none_is_refused_naming_both(given: str, tmp_path: Path) -> None:
    book = str(tmp_path / "book")
    shown = run("walk", "long-side-deck", "--book", book, "--way", given)
    assert shown.exit_code == 2
    assert "string by string" in shown.output
    assert "whole frame" in shown.output
    assert entries_of(book) == []
    told = json.loads(run("walk", "long-side-deck", "--json", "--way", given).output)
    assert told["error"]["code"] == "walk-way"


def walked_to(stop: Callable[[dict[str, Any]], bool]) -> talk.Walker:
    """A walk of the deck, every reading on it, to the first ask at which `stop` says so."""
    walker = talk.Walker(document(), Memory())  # type: ignore[arg-type]
    walker.choose("whole frame")
    while (ask := walker.ask())["ask"] != "end" and not stop(ask):
        given = {"inches": ask["target"]} if ask["ask"] in ("pull", "again") else {"done": True}
        assert walker.take(ask, given)["status"] == "ok"
    return walker


def is_end(ask: dict[str, Any]) -> bool:
    return bool(ask["ask"] == "end")


def begun(walker: talk.Walker) -> list[str]:
    return [entry["what"] for entry in walker.book.entries if entry["kind"] == "after"]


@pytest.mark.parametrize(("what", "step"), [("strings", "back"), ("marks", "ties-1")])
def test_what_comes_after_the_walk_is_begun_at_its_end(what: str, step: str) -> None:
    walker = walked_to(is_end)
    walker.after(what)
    assert walker.ask()["step"] == step
    last = walker.book.entries[-1]
    assert (last["kind"], last["what"], last["step"], last["act"]) == ("after", what, "", -1)


def test_what_is_not_due_yet_waits_for_the_end_of_the_walk() -> None:
    walker = walked_to(lambda ask: ask["ask"] == "stake")
    for what in ("strings", "marks"):
        walker.after(what)
    assert begun(walker) == []
    steps = []
    while not is_end(ask := walker.ask()):
        steps.append(ask["step"])
        walker.take(ask, {"inches": ask["target"]} if ask["ask"] in ("pull", "again") else {"done": True})
    assert begun(walker) == ["marks"]
    assert steps[-1] == "ties-1"
    assert steps.index("ties-1") > steps.index("keep")


def test_marks_are_looked_at_again_once_one_is_staked_and_strings_once_all_are() -> None:
    walker = walked_to(lambda ask: ask["step"] == "footing-1-2")
    walker.after("strings")
    assert begun(walker) == []
    walker.after("marks")
    assert begun(walker) == ["marks"]
    assert walker.is_under_way("marks")


def test_what_is_under_way_is_gone_on_with_and_what_has_ended_is_begun_again() -> None:
    walker = walked_to(is_end)
    walker.after("strings")
    walker.take(walker.ask(), {"done": True})
    walker.after("strings")
    assert begun(walker) == ["strings"]
    assert walker.ask()["ask"] == "pull"
    while not is_end(ask := walker.ask()):
        walker.take(ask, {"inches": ask["target"]} if ask["ask"] in ("pull", "again") else {"done": True})
    walker.after("strings")
    assert begun(walker) == ["strings", "strings"]
    assert (walker.ask()["step"], walker.ask()["ask"]) == ("back", "heed")


def test_undo_takes_back_what_was_just_begun() -> None:
    walker = walked_to(is_end)
    walker.after("strings")
    walker.take(walker.ask(), {"done": True})
    for _ in range(2):
        assert walker.undo(walker.last_step())
    assert is_end(walker.ask())
    kinds = [entry["kind"] for entry in walker.book.entries[-4:]]
    assert kinds == ["after", "heed", "strike", "strike"]


@pytest.mark.parametrize(("what", "last", "made"), [("marks", "ties-1", 0), ("strings", "anchors-1", 10)])
def test_a_program_walks_on_after_the_end_and_makes_what_is_new(what: str, last: str, made: int, tmp_path: Path) -> None:
    """One process walks to the end and on; flags and anchors that the first line does not name come with their ask."""
    book, crew = str(tmp_path / "book"), Crew(5)
    process = Process("long-side-deck", "--book", book, "--way", "whole frame", "--after", what)
    crew.begin(process.read()["yard"])
    line, steps, new = process.read(), list[str](), 0
    while "end" not in line:
        steps.append(line["step"])
        if "new" in line:
            crew.points[line["point"]] = line["new"]
            new += 1
        line = process.send(json.dumps(crew.answer(line)))
    process.stop()
    assert (steps[-1], new) == (last, made)
    assert [entry["what"] for entry in entries_of(book) if entry["kind"] == "after"] == [what]
    assert line["end"]["staked"] == [f"G1-{m}" for m in range(1, 6)]


def test_a_person_hears_where_the_last_mark_stands() -> None:
    walker = walked_to(is_end)
    walker.after("marks")
    said: list[str] = []
    talk.speak(walker, lambda _: tape.show(walker.ask()["target"], "inch"), said.append)
    assert said[-2] == 'Footing 5 of beam 1 stands where the plan has it, within 3/16".\nEvery step is done.'


@pytest.mark.parametrize("given", ["pour", "", "Marks"])
def test_what_cannot_be_begun_is_refused_naming_both(given: str, tmp_path: Path) -> None:
    book = str(tmp_path / "book")
    shown = run("walk", "long-side-deck", "--book", book, "--after", given)
    assert shown.exit_code == 2
    assert f"“{given}” is nothing that can be begun" in shown.output
    assert "strings" in shown.output
    assert "marks" in shown.output
    assert entries_of(book) == []
    told = json.loads(run("walk", "long-side-deck", "--json", "--after", given).output)
    assert told["error"]["code"] == "walk-after"


def test_a_person_walks_the_deck_in_plain_words() -> None:
    said: list[str] = []
    walker = talk.Walker(document("pear-tree-platform"), Memory())  # type: ignore[arg-type]
    answers = iter(["", "undo", "", "nonsense"])

    def read(prompt: str) -> str:
        try:
            return next(answers)
        except StopIteration:
            ask = walker.ask()
            if ask["ask"] in ("pull", "again"):
                return f"{ask['target'] * 25.4:.0f} mm"
            return ""

    talk.speak(walker, read, said.append)
    text = "\n".join(said)
    assert "Call the utility notice line" in text
    assert "That is not an answer to this step." in text
    assert "Every step is done." in text
    assert "approved" not in text.lower()


def run(*arguments: str) -> Any:
    return CliRunner().invoke(main, list(arguments))


def test_plan_for_people_and_as_json(tmp_path: Path) -> None:
    shown = run("plan", "long-side-deck")
    assert shown.exit_code == 0
    assert "29' 1 7/8\"" in shown.output
    loaded = json.loads(run("plan", "long-side-deck", "--json").output)
    assert loaded["digest"] == document()["digest"]


def test_every_fault_of_a_job_file_at_once(tmp_path: Path) -> None:
    file = tmp_path / "Bad one.json"
    file.write_text(json.dumps(spec(width="113", out="x", crew=7)), encoding="utf-8")
    shown = run("plan", str(file))
    assert shown.exit_code == 2
    assert all(f"  {place}: " in shown.output for place in ("width", "out", "crew"))
    error = json.loads(run("plan", str(file), "--json").output)["error"]
    assert {fault["place"] for fault in error["faults"]} == {"width", "out", "crew"}
    assert all(fault["fix"] for fault in error["faults"])


@pytest.mark.parametrize("content", [b"\xff\xfe\x00", b"{", b"", b"[]"])
def test_a_file_that_is_no_job_is_refused_in_words(tmp_path: Path, content: bytes) -> None:
    file = tmp_path / "job.json"
    file.write_bytes(content)
    shown = run("plan", str(file))
    assert shown.exit_code == 2
    assert "Traceback" not in shown.output
    assert shown.output.strip()


def test_a_book_that_cannot_be_written_is_said() -> None:
    shown = run("walk", "long-side-deck", "--book", "/nowhere/at/all/book")
    assert shown.exit_code == 2
    assert "/nowhere/at/all/book cannot be written" in shown.output


def test_the_plan_says_where_a_footing_lies_off_a_string_on_the_beams_face(tmp_path: Path) -> None:
    file = tmp_path / "job.json"
    file.write_text(json.dumps(spec(string_face="house-face")), encoding="utf-8")
    assert run("plan", str(file)).output.count("go 1 1/2\" away from the house") == 5


def test_a_missing_job_names_the_demo_jobs() -> None:
    shown = run("plan", "nowhere.json")
    assert shown.exit_code == 2
    assert "long-side-deck" in shown.output


def test_a_bundle_is_a_folder_for_any_static_host(tmp_path: Path) -> None:
    out = tmp_path / "site"
    assert run("bundle", "long-side-deck", "-o", str(out)).exit_code == 0
    index = json.loads((out / "jobs/index.json").read_text(encoding="utf-8"))
    (job,) = index["jobs"]
    assert job["name"] == "Long side deck"
    for path in job["files"]:
        assert (out / path).stat().st_size > 0
    assert "const VERSION" in (out / "sw.js").read_text(encoding="utf-8")
    assert run("bundle", "pear-tree-platform", "-o", str(out)).exit_code == 0
    assert not (out / job["files"][0]).exists()


def test_a_bundle_never_overwrites_another_folder(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("keep", encoding="utf-8")
    assert run("bundle", "long-side-deck", "-o", str(tmp_path)).exit_code == 2
    assert (tmp_path / "mine.txt").read_text(encoding="utf-8") == "keep"
