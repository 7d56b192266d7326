"""`python -m kb` is the command line."""

from kb.cli import main

main()
