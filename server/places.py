"""Where the files beside the code are: in a checkout they stand next to server/, in a wheel they travel inside it."""

from pathlib import Path

_HERE = Path(__file__).resolve().parent


def _beside(name: str) -> Path:
    inside = _HERE / name
    return inside if inside.is_dir() else _HERE.parent / name


PWA = _beside("pwa")
SEED = _beside("seed_data")
