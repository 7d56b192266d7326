"""Numbers of the search that were fitted on the tuning half of the judged questions, never on the reporting half.

`drillkb score --fit` prints them; DEVELOPERS.md says how they were found.
"""

from msgspec import Struct

SAME_WORDS = 1.0
"""Weight of a fault that is listed in the question's very words; by hand, since no judged question is listed."""


class Fitted(Struct, frozen=True):
    """One set of numbers that belong together."""

    way_weights: dict[str, float]
    """How much each way of looking counts for a fault, on standard scores."""
    sharpness: float
    """Turns the sum of standard scores into shares: exp(sharpness x score), scaled to 1."""
    event_bonus: float
    """Added to the faults of an event that the words name."""
    both_events: float
    """When the best fault of a second event has this part of the first one's share, the coach is asked which event."""
    is_ours: tuple[float, ...]
    """Weights of the model that tells a question about gymnastics from one of another world (kb.search.judge)."""
    ours_from: float
    """How sure that model has to be."""


GENERAL = Fitted(
    way_weights={
        "words": 0.75,
        "phrase words": 0.15,
        "letters": 0.5,
        "same words": SAME_WORDS,
        "phrase meaning": 1.0,
        "card words": 0.15,
        "card meaning": 0.15,
    },
    sharpness=1.05,
    event_bonus=3.0,
    both_events=0.1,
    is_ours=(-19.21, 19.72, 6.92, 7.03, 0.46, -1.71, 7.68),
    ours_from=0.35,
)
"""For a library from which nothing was learned, and when what was learned is left aside."""

LEARNED = Fitted(
    way_weights={
        "words": 0.15,
        "phrase words": 0.0,
        "letters": 0.0,
        "same words": SAME_WORDS,
        "phrase meaning": 0.15,
        "card words": 0.15,
        "card meaning": 0.15,
        "learned words": 1.0,
        "learned meaning": 1.0,
    },
    sharpness=1.0,
    event_bonus=3.0,
    both_events=0.1,
    is_ours=(-24.34, 22.12, 2.45, 4.14, 0.52, 2.09, 7.97),
    ours_from=0.451,
)
"""For a library with a trained encoder and classifiers beside it."""
