"""Where the files beside the code are: in a checkout they stand next to server/, in a wheel they travel inside it."""

import os
from pathlib import Path

_HERE = Path(__file__).resolve().parent


def _beside(name: str) -> Path:
    inside = _HERE / name
    return inside if inside.is_dir() else _HERE.parent / name


PWA = _beside("pwa")
SEED = _beside("seed_data")


def data_folder() -> Path:
    """Yardtrue's folder in the user's own data folder ($XDG_DATA_HOME or ~/.local/share)."""
    return Path(os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share") / "yardtrue"
