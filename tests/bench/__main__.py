"""Run the measurements: a table on the screen, JSON with --json FILE; names of parts choose some of them."""

import argparse
import json
import platform
from collections.abc import Callable
from pathlib import Path

from tests.bench import inside, pages, plans, processes, sheets

PARTS: dict[str, Callable[[], dict[str, float]]] = {
    "start-up": processes.start_up,
    "questions": inside.questions,
    "indexing": inside.indexing,
    "figures": inside.figures,
    "sizes": inside.sizes,
    "practice log": inside.practice_log,
    "imports": inside.imports,
    "pages": pages.in_process,
    "phones": pages.served,
    "sheets": sheets.sheets,
    "plans": plans.plans,
    "install": processes.light_install,
}


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("parts", nargs="*", choices=[*PARTS, []], help="parts to measure; all without it")
    parser.add_argument("--json", type=Path, metavar="FILE")
    arguments = parser.parse_args()
    results: dict[str, dict[str, float]] = {}
    for name in arguments.parts or PARTS:
        results[name] = PARTS[name]()
        print(f"\n{name}")
        for what, value in results[name].items():
            print(f"  {what:<48} {value:10.3f}")
    if arguments.json:
        arguments.json.write_text(
            json.dumps({"machine": platform.processor() or platform.machine(), **results}, indent=2)
        )


main()
