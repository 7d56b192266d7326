"""A folder of Markdown cards becomes a checked collection: read, convert, check, report."""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from kb.library.collection import Collection
    from kb.library.load import load_collection

__all__ = ["Collection", "load_collection"]


def __getattr__(name: str) -> Any:
    """Load a public name when it is first used: a question needs only kb.library.files."""
    from importlib import import_module

    homes = {"Collection": "kb.library.collection", "load_collection": "kb.library.load"}
    if name not in homes:
        raise AttributeError(f"module 'kb.library' has no attribute '{name}'")
    return getattr(import_module(homes[name]), name)
