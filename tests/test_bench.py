"""The pure parts of the benchmark, and the limit on bytes, which needs no clock."""
import pytest

from tests.bench import cold, download
from tests.bench.table import Row, lines, percentile, ratio


def test_everything_for_one_job_is_within_its_limit():
    row = download.measure()
    assert row.limit == download.LIMIT
    assert row.holds, row


@pytest.mark.parametrize("job", ["long-side-deck", "pear-tree-platform"])
def test_the_sum_counts_every_kind_of_file(job):
    sizes = download.zipped(download.tree(job))
    for kind in ("index.html", "sw.js", "words.json", "jobs/index.json", f"jobs/{job}/", "field/"):
        assert any(path.startswith(kind) and size > 0 for path, size in sizes.items()), kind


def test_zipped_is_in_kibibytes():
    assert download.zipped({"zeros": bytes(1024 * 1024)})["zeros"] == pytest.approx(1.0, abs=0.1)


def test_ratio_is_of_medians():
    assert ratio([1, 9, 4], [2, 100, 1]) == 2


@pytest.mark.parametrize(("count", "expected"), [(1, 1), (19, 19), (20, 19), (40, 38), (100, 95)])
def test_percentile_is_the_nearest_rank(count, expected):
    assert percentile(reversed(range(1, count + 1)), 0.95) == expected


def test_a_row_over_its_limit_is_told():
    rows = [Row("a", 2.5, "x", 2.5), Row("b", 2.51, "x", 2.5), Row("c", 900, "ms")]
    assert [row.holds for row in rows] == [True, False, True]
    assert [("holds" in line, "MISSED" in line) for line in lines(rows)[1:]] == [(True, False), (False, True), (False, False)]


def test_a_part_is_charged_for_its_own_time_alone():
    clock = cold.Clock()
    inner = clock.timed("inner", lambda: sum(range(200_000)))
    clock.timed("outer", lambda: [inner() for _ in range(5)])()
    assert clock.costs["outer"] < clock.costs["inner"] / 5
    assert clock.costs.keys() == {"inner", "outer"}
