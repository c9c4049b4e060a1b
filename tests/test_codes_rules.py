"""The reader of the tables, the single rules, what the yard sells, and what is refused."""
from __future__ import annotations

import math

import pytest

from server.codes import beams, footings, joists, ledger, posts, rules, stock, tables
from server.codes.answers import Source
from server.codes.tables import NotInTables, TablesError, rows
from server.errors import YardtrueError

NAMES = ("beams", "footings", "joists", "ledger", "ledger_edges", "ledger_loads", "lumber_design_values", "lumber_factors", "posts", "rules", "sections", "stock")

# Every row says where it stands.


@pytest.mark.parametrize("name", NAMES)
def test_every_row_has_a_source_and_a_confidence(name: str) -> None:
    assert rows(name)
    for row in rows(name):
        assert len(row["source"]) >= len("DCA 6")
        assert row["confidence"] in tables.CONFIDENCES


@pytest.mark.parametrize("column", ["source", "confidence"])
def test_a_row_without_source_or_confidence_is_refused(column: str) -> None:
    row = {**rows("joists")[0], column: ""}
    with pytest.raises(TablesError) as caught:
        tables.checked("joists", [rows("joists")[0], row])
    assert caught.value.code == "codes-table"
    assert caught.value.slots == {"table": "joists", "row": "2", "column": column}
    assert "row 2" in caught.value.plain()["error"]["message"]


def test_a_confidence_of_our_own_making_is_refused() -> None:
    with pytest.raises(TablesError):
        tables.checked("joists", [{**rows("joists")[0], "confidence": "certain"}])


# Rules, stock, names.


def test_rules_have_a_value_and_a_section() -> None:
    assert rules.rule("guard_trigger").number == 30
    assert rules.rule("guard_trigger").source == Source("IRC", "R312.1.1", "guard trigger", "excerpt")
    assert rules.joist_cantilever_share("IRC 2015").source.edition == "IRC 2015"
    assert {rules.rule(name).source.edition for name in rules.names()} == {"DCA 6", "DCA 6-2012", "IRC", "IRC 2015", "IRC 2018", "IRC 2021", "WAC"}
    assert rules.rule("footing_min_depth").number == 12
    assert rules.rule("post_max_height").number == 14
    assert len(rules.names()) == len(rows("rules"))


def test_a_rule_in_words_is_no_number() -> None:
    with pytest.raises(TablesError):
        rules.rule("joists_opposite_sides_of_beam").number  # noqa: B018


def test_stock() -> None:
    """6 to 24 ft in 2-ft steps; 10 % waste; 0.45 and 0.60 cu ft a bag: 9 cu ft and waste is 22 and 16.5 bags."""
    assert stock.lengths() == tuple(range(72, 289, 24))
    assert stock.waste() == 0.10
    assert stock.bags(9) == {"60": 22, "80": 17}
    assert stock.bags(0) == {"60": 0, "80": 0}


@pytest.mark.parametrize(
    "ask",
    [
        lambda: joists.span("oak", "2x8", 16, "IRC 2015"),
        lambda: joists.span("redwood", "2x9", 16, "IRC 2015"),
        lambda: joists.span("redwood", "2x8", 17, "IRC 2015"),
        lambda: joists.cantilever("redwood", "2x8", 16, "IRC 1999"),
        lambda: beams.span("redwood", 4, "2x8", 120, "IRC 2015"),
        lambda: beams.span("redwood", 2, "2x8", 120, "IRC 1999"),
        lambda: posts.height("redwood", "5x5", 20, "IRC 2021"),
        lambda: ledger.spacing("nail", 120, "IRC 2018"),
        lambda: footings.size(20, 1500, "IRC 1999"),
        lambda: rules.rule("nonsense"),
        lambda: stock.bag_yield(70),
    ],
)
def test_a_name_that_no_table_knows_is_refused_with_the_names_there_are(ask) -> None:
    with pytest.raises(NotInTables) as caught:
        ask()
    assert isinstance(caught.value, YardtrueError)
    assert caught.value.code == "codes-unknown"
    error = caught.value.plain()["error"]
    assert str(caught.value.slots["given"]) in error["message"]
    assert str(caught.value.slots["known"]) in error["fix"]


@pytest.mark.parametrize("bad", [0, -1, math.nan, math.inf])
def test_a_load_or_length_of_nothing_is_refused(bad: float) -> None:
    for ask in (
        lambda: joists.span("redwood", "2x8", 16, "IRC 2015", bad),
        lambda: beams.span("redwood", 2, "2x8", bad, "IRC 2015"),
        lambda: footings.size(bad, 1500, "IRC 2018"),
        lambda: footings.size(20, bad, "IRC 2018"),
        lambda: posts.height("redwood", "4x4", bad, "IRC 2021"),
        lambda: ledger.spacing("bolt", bad, "IRC 2018"),
    ):
        with pytest.raises(NotInTables) as caught:
            ask()
        assert caught.value.code == "codes-positive"
