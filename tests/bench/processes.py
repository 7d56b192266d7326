"""What a whole process costs: first answer, help, peak memory, size on disk."""

import os
import resource
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
QUESTION = "piking on vault landing"
BASELINE = """
import sys
from sentence_transformers import SentenceTransformer
print(SentenceTransformer(sys.argv[1]).encode([sys.argv[2]]).shape)
"""
"""A plain script that does nothing but encode the same question with sentence-transformers."""


def seconds(command: list[str], times: int = 5) -> float:
    """Return the fastest wall time in seconds of a command in a new process; the first run only warms the disk."""
    taken = []
    for _ in range(times + 1):
        start = time.perf_counter()
        subprocess.run(command, check=True, capture_output=True, env=os.environ | {"HF_HUB_OFFLINE": "1"})
        taken.append(time.perf_counter() - start)
    return min(taken[1:])


def drillkb(*words: str) -> list[str]:
    """Return the command line of drillkb as the scripts call it."""
    return [str(Path(sys.executable).with_name("drillkb")), *words]


def peak_mb(command: list[str]) -> float:
    """Return the peak resident memory in MB of a command run in a process of its own."""
    code = (
        f"import resource, subprocess; subprocess.run({command!r}, check=True, stdout=subprocess.DEVNULL); "
        "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)"
    )
    out = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True).stdout
    return int(out) / (1024 if sys.platform != "darwin" else 1024**2)


def own_peak_mb() -> float:
    """Return the peak resident memory in MB of this process."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def start_up() -> dict[str, float]:
    """First answer, help and version against the sentence-transformers baseline."""
    from kb.index.reference import packaged_checkpoint

    baseline = seconds([sys.executable, "-c", BASELINE, str(packaged_checkpoint()), QUESTION], times=2)
    answer = seconds(drillkb("find", QUESTION))
    help_text = seconds(drillkb("--help"))
    return {
        "baseline: sentence-transformers script, s": baseline,
        "first answer in a new process, s": answer,
        "first answer / baseline (at most 0.10)": answer / baseline,
        "--help, s": help_text,
        "--help / first answer (under 0.25)": help_text / answer,
        "peak memory of find, MB (under 300)": peak_mb(drillkb("find", QUESTION)),
    }


def light_install_mb(venv: Path) -> float:
    """Return the size on disk in MB of an environment."""
    return sum(path.stat().st_size for path in venv.rglob("*") if path.is_file() and not path.is_symlink()) / 1e6


def light_install() -> dict[str, float]:
    """Install the light runtime into an empty environment and measure it."""
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        venv = Path(folder) / "venv"
        subprocess.run([sys.executable, "-m", "venv", str(venv)], check=True)
        start = time.perf_counter()
        subprocess.run([str(venv / "bin" / "pip"), "install", "-q", "-e", str(ROOT)], check=True, capture_output=True)
        return {
            "light install, MB (under 600)": light_install_mb(venv),
            "light install, s": time.perf_counter() - start,
        }
