"""Write the golden outputs anew; look at the difference before committing it."""

from pathlib import Path

from server.cli import plan_lines
from tests.demo import document

for name in ("long-side-deck", "pear-tree-platform"):
    (Path(__file__).parent / f"{name}.txt").write_text("\n".join(plan_lines(document(name))) + "\n", encoding="utf-8")
