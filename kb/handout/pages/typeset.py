"""One sheet through typst, in a process of its own: JSON in on standard input, PDF out on standard output.

typst keeps what it has set in memory for the next documents, hundreds of megabytes after some sheets; a server that
prints would grow with it. Run as a file, so that nothing of kb is imported.
"""

import json
import sys


def main() -> int:
    """Set the sheet; a refusal of typst is exit code 1 and its sentence on standard error."""
    import typst

    order = json.load(sys.stdin.buffer)
    fonts = typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[order["fonts"]])
    try:
        pdf = typst.compile(
            order["main"],
            root=order["root"],
            font_paths=fonts,
            sys_inputs=order["inputs"],
            format="pdf",
            pdf_standards=[order["standard"]],
        )
    except typst.TypstError as error:
        sys.stderr.write(str(error))
        return 1
    sys.stdout.buffer.write(pdf)
    return 0


if __name__ == "__main__":
    sys.exit(main())
