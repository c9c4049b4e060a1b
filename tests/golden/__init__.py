"""Golden outputs of the demo jobs; `python -m tests.golden` writes them anew."""
