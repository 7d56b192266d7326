"""Columns and rows of a linear program with whole numbers, collected one by one and handed to HiGHS at once."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

import numpy as np

Terms = dict[int, float]
"""Column to coefficient."""
FREE = float("inf")


class Rows:
    """A minimisation: whole-number columns with a cost, rows with a lower and an upper bound."""

    def __init__(self) -> None:
        self.costs: list[float] = []
        self.uppers: list[float] = []
        self._starts: list[int] = [0]
        self._columns: list[int] = []
        self._values: list[float] = []
        self.low: list[float] = []
        self.high: list[float] = []

    def column(self, cost: float = 0.0, upper: float = 1.0) -> int:
        """Add a column from 0 to `upper` and return its number."""
        self.costs.append(cost)
        self.uppers.append(upper)
        return len(self.costs) - 1

    def row(self, terms: Mapping[int, float] | Iterable[int], low: float = -FREE, high: float = FREE) -> None:
        """Add a row; a list of columns counts each of them once."""
        found = terms if isinstance(terms, Mapping) else dict.fromkeys(terms, 1.0)
        if not found and low <= 0 <= high:
            return
        self._columns += found.keys()
        self._values += found.values()
        self._starts.append(len(self._columns))
        self.low.append(low)
        self.high.append(high)

    def listed(self) -> Iterator[tuple[list[tuple[int, float]], float, float]]:
        """Yield every row: columns with their values, lower and upper bound."""
        for number, (low, high) in enumerate(zip(self.low, self.high, strict=True)):
            part = slice(self._starts[number], self._starts[number + 1])
            yield list(zip(self._columns[part], self._values[part], strict=True)), low, high

    def program(self) -> Any:
        """Return the program as HiGHS takes it."""
        import highspy

        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_ = len(self.costs), len(self.low)
        lp.col_cost_ = np.array(self.costs, dtype=float)
        lp.col_lower_ = np.zeros(len(self.costs))
        lp.col_upper_ = np.array(self.uppers, dtype=float)
        lp.row_lower_ = np.array(self.low, dtype=float)
        lp.row_upper_ = np.array(self.high, dtype=float)
        lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        lp.a_matrix_.start_ = np.array(self._starts, dtype=np.int32)
        lp.a_matrix_.index_ = np.array(self._columns, dtype=np.int32)
        lp.a_matrix_.value_ = np.array(self._values, dtype=float)
        lp.integrality_ = [highspy.HighsVarType.kInteger] * len(self.costs)
        return lp
