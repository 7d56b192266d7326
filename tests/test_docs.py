"""The documents are true: README commands print what the README shows, every command and option is described."""

import re
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import click
import pytest

from kb.cli.main import COMMANDS
from kb.facade import Library
from tests.readme import ROOT, blocks, printed_by

README = (ROOT / "README.md").read_text("utf-8")
RUNNABLE = [(command, printed) for command, printed in blocks(README) if printed]


@pytest.mark.parametrize(("command", "printed"), RUNNABLE, ids=[command for command, _ in RUNNABLE])
def test_readme_answers_are_the_real_ones(starter: Library, command: str, printed: str) -> None:
    """Each answer in the README is what the command prints today; `python -m tests.readme` brings them up to date."""
    del starter
    assert printed_by(command) == printed


def test_readme_shows_answers() -> None:
    """There is something to run, the first command among it."""
    assert any('find "piking on vault landing"' in command for command, _ in RUNNABLE)


def test_readme_python_runs(starter: Library) -> None:
    """The three lines of Python run."""
    del starter
    (code,) = re.findall(r"```python\n(.*?)```", README, re.S)
    done = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True, cwd=ROOT)
    assert done.stdout.strip()


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_and_option_is_documented(name: str) -> None:
    """Every command stands in the README, every option has a help text and stands in the README's table."""
    assert re.search(rf"`{name}\b", README), f"README.md does not describe `drillkb {name}`"
    command: click.Command = import_module(f"kb.cli.{name}").command
    for option in command.params:
        if isinstance(option, click.Option):
            assert option.help, f"{name} {option.opts[0]} has no help"
            assert option.opts[0] in README, f"README.md does not describe {name} {option.opts[0]}"


def test_developers_guide_names_every_folder_of_the_package() -> None:
    """The map of the code is complete."""
    guide = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    for folder in sorted(path.name for path in (ROOT / "kb").iterdir() if path.is_dir() and path.name[0] not in "_."):
        assert f"kb/{folder}" in guide, folder


def test_the_first_command_runs_from_any_folder(starter: Library, tmp_path: Path) -> None:
    """The script finds its checkout wherever it is called from, by a link as well."""
    del starter
    (tmp_path / "link").symlink_to(ROOT / "scripts" / "drillkb")
    for script in (ROOT / "scripts" / "drillkb", tmp_path / "link"):
        done = subprocess.run(
            [script, "find", "short handstand on beam"], cwd=tmp_path, capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, done.stderr
        assert "Beam handstand" in done.stdout
