"""What a plan says about how practice is organised, with its source, and no more than the source does."""

BLOCKED = (
    "Each team stays on an event before it walks on: a new skill is practised in a block. Mixing drills helps "
    "adults in the laboratory, hardly in applied settings, and not measurably children (Czyz et al., Sci Rep "
    "2024;14:15974 and Front Psychol 2024); ask for it with --mix when the drills are known."
)
MIXED = (
    "Events change freely because --mix was asked for. In children no gain from mixing has been measured (Czyz et al., "
    "Sci Rep 2024;14:15974 and Front Psychol 2024)."
)
WARM = (
    "The warm-up stays in: neuromuscular warm-up cut youth injuries by about 40% in a review of 2017 (PMC5643472), of "
    "other sports as well."
)
SPACED = (
    "Sessions of the same drill lie at least a day apart: that beat the same work 20 minutes apart (Shea et al. 2000, "
    "Hum Mov Sci 19:737). Spacing helps simple tasks far more than complex ones (Donovan and Radosevich 1999), so do "
    "not expect it to do the work of coaching."
)


def organisation(*, mix: bool) -> tuple[str, ...]:
    """Return the notes of one evening."""
    return (MIXED if mix else BLOCKED, WARM)
