"""Cards become ladders: an ordered way to each skill, computed from what the cards say of themselves."""

from kb.ladder.rungs import Rungs, ladder_place, skill_rungs

__all__ = ["Rungs", "ladder_place", "skill_rungs"]
