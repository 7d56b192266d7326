"""A question in the coach's own words becomes an answer: read, retrieve, fuse, rank, explain, judge."""

from kb.search.answer import Searcher, ask
from kb.search.limits import Limits

__all__ = ["Limits", "Searcher", "ask"]
