"""Speed, measured against something else in the same run: `python -m tests.bench` prints one table."""
