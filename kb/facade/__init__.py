"""The face of the program: open a library and ask it."""

from kb.facade.library import Library, open_library

__all__ = ["Library", "open_library"]
