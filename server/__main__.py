"""`python -m server` is the `yardtrue` command."""

from server.cli import main

main()
