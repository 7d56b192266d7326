"""drillkb: ask in the words of the gym, get the fault, the cause and the drills that mend it.

>>> import kb
>>> library = kb.open_library()
>>> answer = library.ask("piking on vault landing", level=3)
"""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from kb.errors import DrillkbError
    from kb.facade import Library, open_library
    from kb.model import Answer, Card, Fault, Question

__all__ = ["Answer", "Card", "DrillkbError", "Fault", "Library", "Question", "open_library"]

_HOME = {
    "Answer": "kb.model",
    "Card": "kb.model",
    "DrillkbError": "kb.errors",
    "Fault": "kb.model",
    "Library": "kb.facade",
    "Question": "kb.model",
    "open_library": "kb.facade",
}


def __getattr__(name: str) -> Any:
    """Load a public name when it is first used, so that `import kb` stays cheap."""
    if name not in _HOME:
        raise AttributeError(f"module 'kb' has no attribute '{name}'")
    from importlib import import_module

    return getattr(import_module(_HOME[name]), name)
