"""`drillkb score`: how good is the search on judged questions?"""

from pathlib import Path

import click

from kb.cli.common import as_json, library_of, print_json
from kb.cli.text import echo
from kb.score.questions import read_outside, read_questions, read_second_grader
from kb.score.report import Report, Row, measure, number_questions


@click.command("score")
@click.argument("file", type=click.Path(path_type=Path), metavar="FILE")
@click.option("--half", type=click.Choice(["tuning", "reporting"]), help="Only one half of the authors.")
@click.option("--ablation", is_flag=True, help="Also measure with each part of the search taken out.")
@click.option(
    "--fit", "outside", type=click.Path(path_type=Path), metavar="TSV", help="Fit on FILE and these outside texts."
)
@click.option("--misread", is_flag=True, help="List the questions that came out wrong.")
@as_json
@click.pass_context
def command(
    ctx: click.Context, file: Path, half: str | None, ablation: bool, outside: Path | None, misread: bool, as_json: bool
) -> None:
    """Measure the search on judged questions: a file or a folder of them."""
    library = library_of(ctx)
    asked = number_questions(read_questions(file, library.vocabulary), half)
    if outside:
        from kb.score.fit import fit

        print_json(fit(library.searcher, asked, read_outside(outside)))
        return
    second = read_second_grader(file) if file.is_dir() else {}
    report = measure(library.searcher, asked, ablation=ablation, second=second)
    if as_json:
        print_json(report)
    else:
        echo(report_lines(report, misread=misread))


def report_lines(report: Report, *, misread: bool) -> list[str]:
    """Return the tables of a report."""
    lines = [*_table("system", report.rows), *_table("event", report.by_event), *_table("kind", report.by_kind)]
    lines += _table("voice", report.by_voice)
    if report.ceiling:
        c = report.ceiling
        lines.append(
            f"ceiling: a second person {c.person_first:.3f}, full {c.full_first:.3f} of the same {c.questions}"
        )
    r = report.refusals
    lines += [
        f"stop and refer: {r.stop_caught} of {r.stop_of} caught, {r.stop_false} of {r.stop_false_of} false alarms",
        f"outside: {r.outside_refused} of {r.outside_of} refused, {r.real_refused} of {r.real_of} real ones refused",
        f"limits: {r.limits_right} of {r.limits_of} read exactly right",
        f"skills: {r.skills_right} of {r.skills_of} recognised",
        f"one question: median {r.median_ms} ms, p95 {r.p95_ms} ms",
    ]
    return lines + [f"  {item.kind}: {item.question} - {item.what}" for item in (report.misread if misread else ())]


def _table(name: str, rows: tuple[Row, ...]) -> list[str]:
    head = f"{name:<26} {'n':>4}   event given: 1st  in 3  drills   not given: 1st  in 3  drills"
    return [head, *(_line(row) for row in rows), ""]


def _line(row: Row) -> str:
    given = f"{row.first_given:>17.3f} {row.three_given:>5.3f} {row.drills_given:>7.3f}"
    return f"{row.system:<26} {row.questions:>4} {given} {row.first:>16.3f} {row.three:>5.3f} {row.drills:>7.3f}"
