"""The practice log: what the coach did and what came of it, in a file of its own that no rebuild touches."""
