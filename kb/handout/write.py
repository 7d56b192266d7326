"""A sheet into a file of one of three kinds."""

from pathlib import Path

from kb.errors import FileUnusable, UsageError
from kb.handout.html import sheet_html
from kb.handout.markdown import sheet_markdown
from kb.handout.pdf import sheet_pdf
from kb.model.sheet import Paper, Sheet

SUFFIXES = (".pdf", ".html", ".md")


def write_sheet(sheet: Sheet, path: Path, paper: Paper = "a4") -> tuple[Path, ...]:
    """Write a sheet as PDF, web page or Markdown, as the name ends; return the files and folders that were written.

    Markdown has its pictures in a folder beside it. Raises UsageError for another ending, FileUnusable.
    """
    kind = path.suffix.lower()
    if kind not in SUFFIXES:
        raise UsageError(f"{path} must end with .pdf, .html or .md.")
    try:
        if kind == ".pdf":
            path.write_bytes(sheet_pdf(sheet, paper))
            return (path,)
        if kind == ".html":
            path.write_text(sheet_html(sheet, paper), "utf-8")
            return (path,)
        pictures = path.with_name(f"{path.stem}-pictures")
        text, drawn = sheet_markdown(sheet, pictures.name)
        path.write_text(text, "utf-8")
        if drawn:
            pictures.mkdir(exist_ok=True)
        for name, svg in drawn.items():
            (pictures / name).write_text(svg, "utf-8")
    except OSError as error:
        raise FileUnusable(path, 0, f"cannot be written ({error.strerror}).") from None
    return (path, pictures) if drawn else (path,)
