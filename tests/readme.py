"""Commands and answers in the README: read by the tests, rewritten by `python -m tests.readme`."""

import re
import shlex
import subprocess
from pathlib import Path

ROOT = Path(__file__).parents[1]
README = ROOT / "README.md"
_BLOCK = re.compile(r"```console\n(.*?)```", re.S)


def blocks(text: str) -> list[tuple[str, str]]:
    """Return command and printed answer of every console block, in order."""
    found = []
    for block in _BLOCK.findall(text):
        command, _, printed = block.partition("\n")
        found.append((command.removeprefix("$ "), printed))
    return found


def printed_by(command: str, folder: Path = ROOT) -> str:
    """Run a README command from the checkout and return what it prints, trailing spaces off."""
    done = subprocess.run(shlex.split(command), cwd=folder, check=True, capture_output=True, text=True)
    return "".join(f"{line.rstrip()}\n" for line in done.stdout.splitlines())


def rewrite() -> None:
    """Put the answers of today under the commands of the README that show one."""
    text = README.read_text("utf-8")
    for command, printed in blocks(text):
        if printed:
            text = text.replace(f"$ {command}\n{printed}", f"$ {command}\n{printed_by(command)}")
    README.write_text(text, "utf-8")


if __name__ == "__main__":
    rewrite()
