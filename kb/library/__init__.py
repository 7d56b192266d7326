"""A folder of Markdown cards becomes a checked collection: read, convert, check, report."""

from kb.library.collection import Collection
from kb.library.load import load_collection

__all__ = ["Collection", "load_collection"]
