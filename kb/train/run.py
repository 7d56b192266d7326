"""Train the encoder and the classifiers on a library's words, and keep them only when judged questions improve.

`./scripts/train-encoder` runs it. Three steps, which can run on different machines:

    collect   the library's words into one JSON file
    teach     the encoder, on a GPU or a CPU, from that file and the checkpoint
    keep      export the taught encoder, fit the classifiers, measure, and write them into the library

Without a step all three run here, one after the other.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

import msgspec

from kb.errors import DrillkbError, UsageError
from kb.train.contrast import Recipe, train
from kb.train.keep import keep_if_better
from kb.train.texts import TrainingTexts, read_texts, training_texts, write_texts

WORDS, TAUGHT, LOG = "words.json", "taught", "teach.json"


class Teaching(msgspec.Struct, frozen=True):
    """What is known of one run of `teach`."""

    recipe: Recipe
    texts: str
    """Hash of all that was learned from."""
    utterances: int
    faults: int
    seconds: float
    device: str
    losses: tuple[float, ...]


def collect(library: Path, work: Path) -> TrainingTexts:
    """Write the library's words into the working folder. Raises UsageError when there is too little to learn from."""
    from kb.library import load_collection

    texts = training_texts(load_collection(library))
    if len(texts.events) < 2:
        raise UsageError(f"{library} has fewer than two faults: there is nothing to tell apart.")
    work.mkdir(parents=True, exist_ok=True)
    write_texts(work / WORDS, texts)
    return texts


def teach(work: Path, recipe: Recipe, base: Path | None) -> Teaching:
    """Train the encoder from the words in the working folder and save it there in 16 bits."""
    import torch

    texts = read_texts(work / WORDS)
    device = "cuda" if torch.cuda.is_available() else "cpu"
    model = _load(base).to(device).float()
    start = time.monotonic()
    losses = train(model, texts, recipe)
    told = Teaching(
        recipe,
        texts.digest(),
        len(texts.utterances),
        len(texts.events),
        round(time.monotonic() - start, 1),
        torch.cuda.get_device_name() if device == "cuda" else "CPU",
        tuple(round(loss, 4) for loss in losses),
    )
    model.half().save_pretrained(str(work / TAUGHT))
    (work / LOG).write_bytes(msgspec.json.format(msgspec.json.encode(told), indent=2))
    return told


def _load(base: Path | None) -> Any:
    if base is not None:
        from sentence_transformers import SentenceTransformer

        return SentenceTransformer(str(base))
    from kb.index.reference import load_model, packaged_checkpoint

    return load_model(packaged_checkpoint())


def main(arguments: list[str] | None = None) -> int:
    """Run the script. Returns the exit code: 1 when what was learned is not kept."""
    options = _parser().parse_args(arguments)
    with tempfile.TemporaryDirectory() as scratch:
        work = options.work or Path(scratch)
        try:
            return _run(options, work)
        except DrillkbError as error:
            print(f"train-encoder: {error}", file=sys.stderr)
            return error.exit_code


def _run(options: argparse.Namespace, work: Path) -> int:
    every = ["collect", "keep"] if options.same_encoder else ["collect", "teach", "keep"]
    steps = [options.step] if options.step else every
    if "collect" in steps:
        texts = collect(options.library, work)
        print(f"{len(texts.utterances)} ways of saying {len(texts.events)} faults.")
    if "teach" in steps:
        recipe = Recipe(passes=options.passes, seed=options.seed)
        told = teach(work, recipe, options.base)
        print(f"Taught on {told.device} in {told.seconds:.0f} s; loss {told.losses[0]:.3f} to {told.losses[-1]:.3f}.")
    if "keep" in steps:
        same = options.same_encoder
        story = {} if same else msgspec.to_builtins(msgspec.json.decode((work / LOG).read_bytes(), type=Teaching))
        taught = None if same else work / TAUGHT
        verdict = keep_if_better(options.library, taught, work / WORDS, story, options.questions)
        print("\n".join(verdict.lines))
        return 0 if verdict.kept else 1
    return 0


def _parser() -> argparse.ArgumentParser:
    form = argparse.RawTextHelpFormatter
    parser = argparse.ArgumentParser(prog="train-encoder", description=__doc__, formatter_class=form)
    root = Path(__file__).parents[2]
    judged = root / "tests" / "questions"
    option = parser.add_argument
    option("step", nargs="?", choices=["collect", "teach", "keep"], help="one step; all without it")
    option("--library", type=Path, default=root / "drills", metavar="DIR", help="the drill library")
    option("--questions", type=Path, default=judged, metavar="PATH", help="judged questions that decide")
    option("--work", type=Path, metavar="DIR", help="folder for what passes between the steps")
    option("--base", type=Path, metavar="DIR", help="checkpoint to begin with; the packaged one without it")
    option("--passes", type=int, default=Recipe().passes, help="times that every utterance is seen")
    option("--same-encoder", action="store_true", help="only the classifiers learn anew (minutes on a CPU)")
    option("--seed", type=int, default=1)
    return parser


if __name__ == "__main__":
    sys.exit(main())
