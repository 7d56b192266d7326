"""Numbers of the ranking that were fitted on the tuning half of the judged questions, never on the reporting half.

`drillkb score --fit` prints them; DEVELOPERS.md says how they were found.
"""

WAY_WEIGHTS = {
    "words": 0.75,
    "phrase words": 0.15,
    "letters": 0.5,
    "phrase meaning": 1.0,
    "card words": 0.15,
    "card meaning": 0.15,
}
"""How much each way of looking counts for a fault, on standard scores."""
SHARPNESS = 1.05
"""Turns the sum of standard scores into shares: exp(sharpness x score), scaled to 1."""
EVENT_BONUS = 3.0
"""Added to the faults of an event that the words name."""
BOTH_EVENTS = 0.1
"""When the best fault of a second event has this part of the first one's share, the coach is asked which event."""
IS_OURS = (-19.21, 19.72, 6.92, 7.03, 0.46, -1.71, 7.68)
"""Weights of the model that tells a question about gymnastics from one of another world (kb.search.judge.FEATURES)."""
OURS_FROM = 0.35
"""How sure that model has to be."""
