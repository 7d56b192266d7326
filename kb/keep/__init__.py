"""Keeping a library alive: her words, what was asked in vain, a club's own copy, watching for edits."""
