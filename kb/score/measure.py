"""Measures of rankings, by ir-measures; the tests hold them to pytrec_eval and to values worked out by hand."""

from collections.abc import Mapping, Sequence
from typing import Any


def measure_rankings(
    rankings: Mapping[str, Sequence[str]], grades: Mapping[str, Mapping[str, int]], names: Sequence[str]
) -> dict[str, dict[str, float]]:
    """Return for each measure ('Success(rel=2)@1', 'nDCG@10', ...) its value for every question.

    rankings: question to names, best first; grades: question to the grade of each name that has one.
    Raises UsageError when ir-measures is not installed.
    """
    ir_measures = _library()
    run = [
        ir_measures.ScoredDoc(question, name, -place)
        for question, ranking in rankings.items()
        for place, name in enumerate(ranking)
    ]
    judged = [ir_measures.Qrel(q, name, grade) for q, found in grades.items() for name, grade in found.items()]
    table: dict[str, dict[str, float]] = {name: dict.fromkeys(grades, 0.0) for name in names}
    wanted = {ir_measures.parse_measure(name): name for name in names}
    for found in ir_measures.iter_calc(list(wanted), judged, run):
        table[wanted[found.measure]][found.query_id] = found.value
    return table


def _library() -> Any:
    from kb.errors import UsageError

    try:
        import ir_measures
    except ImportError:
        raise UsageError("Measuring needs the package ir-measures: pip install 'drillkb[score]'.") from None
    return ir_measures
