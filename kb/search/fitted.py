"""Numbers of the ranking that were fitted on the tuning half of the judged questions, never on the reporting half.

`drillkb score --fit` prints them; DEVELOPERS.md says how they were found.
"""

WAY_WEIGHTS = {
    "words": 1.0,
    "phrase words": 0.5,
    "letters": 1.0,
    "phrase meaning": 1.0,
    "card words": 0.3,
    "card meaning": 0.3,
}
"""How much each way of looking counts for a fault, on standard scores."""
SHARPNESS = 0.9
"""Turns the sum of standard scores into shares: exp(sharpness x score), scaled to 1."""
EVENT_BONUS = 3.0
"""Added to the faults of an event that the words name."""
BOTH_EVENTS = 0.6
"""When the best fault of a second event has this part of the first one's share, the coach is asked which event."""
IS_OURS = (-6.0, 8.0, 4.0, 2.0, 1.0, 3.0, 0.0)
"""Weights of the model that tells a question about gymnastics from one of another world (kb.search.judge.FEATURES)."""
OURS_FROM = 0.5
"""How sure that model has to be."""
