"""The command line: one file per command, no logic, nothing heavy loaded before it is needed."""

from kb.cli.main import main

__all__ = ["main"]
