"""Something wrong with the library, in a form that a person can mend."""

from msgspec import Struct


class Problem(Struct, frozen=True, order=True):
    """One finding of the loader or of a check."""

    file: str
    """Path inside the library."""
    line: int
    """Line in the file, from 1; 0 when the whole file is meant."""
    field: str
    """Dotted path of the field, or the heading; empty when the whole file is meant."""
    message: str
    """What was found, what is allowed, and the nearest valid value."""
    keeps_out: bool = True
    """Whether the card is left out of answers until it is mended."""
    warning: bool = False
    """Whether it is advice and does not make `check` fail."""

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}" if self.line else self.file
        return ": ".join(part for part in (place, self.field, self.message) if part)
