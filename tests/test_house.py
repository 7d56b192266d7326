"""The house rules that a test can hold: one public face, imports run downward, nothing heavy at import, top level."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import kb

ROOT = Path(__file__).parents[1]
FLOORS = [
    "errors",
    "model",
    "library",
    "ladder",
    "size",
    "draw",
    "index",
    "log",
    "search",
    "score",
    "plan",
    "handout",
    "keep",
    "facade",
    "train",
    "browse",
    "cli",
]
"""Lowest first; a module may import from its own floor and from those below it."""
HEAVY = set("numpy faiss onnxruntime torch sqlite_utils rich networkx markdown_it msgspec yaml".split())
NOT_FOR_A_QUESTION = set("torch transformers sentence_transformers sklearn scipy pandas sqlite_utils networkx".split())
TOP_LEVEL = {
    "pyproject.toml",
    "README.md",
    "DEVELOPERS.md",
    "CHANGELOG.md",
    "LICENSE",
    "kb",
    "drills",
    "scripts",
    "site",
    "tests",
}


def test_public_face() -> None:
    """The package exports what the README promises, sorted, and every name is really there."""
    assert sorted(kb.__all__) == kb.__all__
    assert kb.__all__ == ["Answer", "Card", "DrillkbError", "Fault", "Library", "Question", "open_library"]
    for name in kb.__all__:
        assert getattr(kb, name).__name__ == name
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        _ = kb.nothing


def imported_floors(path: Path) -> set[str]:
    """Return the parts of the package that a module imports, inside functions and for types as well."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("kb."):
            found.add(node.module.split(".")[1])
        elif isinstance(node, ast.Import):
            found |= {name.name.split(".")[1] for name in node.names if name.name.startswith("kb.")}
    return found


def upward(folder: Path) -> list[str]:
    """Return the imports that run upward."""
    wrong = []
    for path in sorted(folder.rglob("*.py")):
        parts = path.relative_to(folder).with_suffix("").parts
        if parts[0] in ("__init__", "__main__"):
            continue
        wrong += [
            f"{'/'.join(parts)} imports {name}"
            for name in imported_floors(path)
            if FLOORS.index(name) > FLOORS.index(parts[0])
        ]
    return wrong


def test_imports_run_downward() -> None:
    """No part of the package imports from a part above it."""
    assert upward(ROOT / "kb") == []


def test_the_downward_check_can_fail(tmp_path: Path) -> None:
    """A module of the model that imports search is found."""
    (tmp_path / "model").mkdir()
    (tmp_path / "model" / "bad.py").write_text("from kb.search.fuse import scaled\n", "utf-8")
    assert upward(tmp_path) == ["model/bad imports search"]


def loaded_after(code: str) -> set[str]:
    """Return the modules that a new process has loaded after running the code."""
    code = f"import sys\ntry:\n    {code}\nexcept SystemExit:\n    pass\nprint('LOADED', *sys.modules)"
    out = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True).stdout
    return set(out.rsplit("LOADED", 1)[1].split())


def test_help_loads_nothing_heavy() -> None:
    """`drillkb --help` loads no numpy, FAISS, ONNX or torch, nor anything else that takes time."""
    loaded = loaded_after("sys.argv = ['drillkb', '--help']; import kb.cli; kb.cli.main()")
    assert "kb.cli.main" in loaded
    assert loaded & HEAVY == set()


def test_a_question_loads_the_light_runtime_only() -> None:
    """With the index in place a question loads no torch, no database builder and no graph library."""
    assert kb.open_library().index.card_ids
    loaded = loaded_after("import kb; kb.open_library().ask('bent arms in the cast')")
    assert "onnxruntime" in loaded
    assert loaded & NOT_FOR_A_QUESTION == set()


def test_top_level() -> None:
    """The top level of the repository holds the house and nothing else."""
    tracked = subprocess.run(["git", "ls-files"], cwd=ROOT, check=True, capture_output=True, text=True).stdout.split()
    names = {name.split("/")[0] for name in tracked}
    assert {name for name in names if not name.startswith(".")} == TOP_LEVEL


def test_modules_and_functions_stay_small() -> None:
    """No module of the package is over 400 lines, no function over 60."""
    long_modules, long_functions = [], []
    for path in sorted((ROOT / "kb").rglob("*.py")):
        text = path.read_text("utf-8")
        if len(text.splitlines()) > 400:
            long_modules.append(path.name)
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.FunctionDef) and (node.end_lineno or 0) - node.lineno > 60:
                long_functions.append(f"{path.name}:{node.name}")
    assert long_modules == []
    assert long_functions == []
