"""`python -m panelbeater` is the command line."""

from panelbeater.cli import main

main()
