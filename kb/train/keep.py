"""What was taught becomes the library's own encoder and classifiers, if its judged questions get better answers."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import msgspec
from msgspec import Struct

from kb.errors import FileUnusable
from kb.facade import Library, open_library
from kb.index.encode import PACKAGED, OnnxEncoder
from kb.index.export import packaged_source, write_encoder
from kb.index.manifest import read_manifest, write_manifest
from kb.index.reference import load_model, packaged_checkpoint
from kb.library.files import TRAINED
from kb.score.questions import read_questions
from kb.score.run import DRILLS, FAULT_FIRST, FAULT_THREE, Asked, full, score
from kb.search.learned import ARRAYS
from kb.train.linear import Lesson, LinearRecipe, write_classifiers
from kb.train.texts import TrainingTexts, read_texts

NAME = "all-MiniLM-L6-v2, taught the words of the gym"
NAMES = 2
"""Texts about a fault that the classifiers learn from: its name and what it looks like."""
LEAST_QUESTIONS = 20
"""Judged questions under which a difference says nothing."""


class Verdict(Struct, frozen=True):
    """Whether what was taught is kept, and the numbers that decided."""

    kept: bool
    lines: tuple[str, ...]


def keep_if_better(
    library: Path, taught: Path | None, words: Path, teaching: dict[str, Any], questions: Path
) -> Verdict:
    """Measure the library before and after on judged questions; keep what was taught only when it got better.

    Without `taught` the encoder stays the library's, and only the classifiers learn anew.

    Only questions of the tuning half of a set decide, so that a reporting half stays unseen. Raises FileUnusable for
    fewer than twenty questions.
    """
    fresh = library / f"{TRAINED}.new"
    shutil.rmtree(fresh, ignore_errors=True)
    before = measured(open_library(library), questions)
    copy_encoder(library, fresh) if taught is None else export_encoder(taught, fresh, teaching)
    add_classifiers(fresh, read_texts(words))
    after = measured(_with(library, fresh), questions)
    better = after[FAULT_FIRST] > before[FAULT_FIRST]
    numbers = [f"{name}: {before[name]:.3f} before, {after[name]:.3f} after" for name in before]
    if not better:
        shutil.rmtree(fresh)
        return Verdict(False, (*numbers, "Not kept: the right fault is not first more often than before."))
    manifest = read_manifest(fresh)
    write_manifest(fresh, msgspec.structs.replace(manifest, training=(manifest.training or {}) | {"scores": after}))
    target = library / TRAINED
    shutil.rmtree(target, ignore_errors=True)
    fresh.rename(target)
    return Verdict(True, (*numbers, f"Kept in {target}."))


def export_encoder(taught: Path, folder: Path, teaching: dict[str, Any]) -> None:
    """Export the taught checkpoint into `folder`, with what is known of the teaching in its manifest."""
    checkpoint = packaged_checkpoint()
    manifest = write_encoder(load_model(taught).float(), packaged_source(checkpoint), NAME, folder)
    write_manifest(folder, msgspec.structs.replace(manifest, training=teaching))
    share_tokenizer(folder)


def share_tokenizer(folder: Path) -> None:
    """Leave out a tokenizer that is the general encoder's, as teaching leaves it: one copy is enough."""
    manifest = read_manifest(folder)
    if manifest.tokenizer == read_manifest(PACKAGED).tokenizer:
        write_manifest(folder, msgspec.structs.replace(manifest, general_tokenizer=True))
        (folder / manifest.tokenizer.name).unlink(missing_ok=True)


def copy_encoder(library: Path, folder: Path) -> None:
    """Copy the encoder that the library uses now into `folder`: its own, or the general one."""
    shutil.copytree(open_library(library).trained or PACKAGED, folder, ignore=shutil.ignore_patterns(ARRAYS))
    share_tokenizer(folder)


def add_classifiers(folder: Path, texts: TrainingTexts) -> None:
    """Fit the classifiers on the vectors of the encoder in `folder`, and say in its manifest what they learned from."""
    encoder = OnnxEncoder(folder)
    examples = [(utterance.fault, utterance.text) for utterance in texts.utterances]
    # What the library itself says of a fault counts too: its name is how a coach in a hurry types it.
    examples += [(fault, text) for fault, about in texts.about.items() for text in about[:NAMES]]
    said = [text for _, text in examples]
    places = {fault: place for place, fault in enumerate(texts.faults)}
    labels = tuple(places[fault] for fault, _ in examples)
    lesson = Lesson(tuple(texts.faults), tuple(said), labels, encoder.encode(said), encoder.fingerprint)
    recipe = LinearRecipe()
    write_classifiers(folder, lesson, recipe)
    learned = {"texts": texts.digest(), "examples": len(said), "recipe": msgspec.to_builtins(recipe)}
    training = (encoder.manifest.training or {}) | {"classifiers": learned}
    write_manifest(folder, msgspec.structs.replace(encoder.manifest, training=training))


def _with(library: Path, fresh: Path) -> Library:
    """Return the library as it would be with the new models."""
    opened = open_library(library)
    opened.trained_folder = fresh
    return opened


def measured(library: Library, questions: Path) -> dict[str, float]:
    """Return the right fault first and in three and the drills' nDCG, event not given, on the tuning questions."""
    sets = [one for one in read_questions(questions, library.vocabulary) if one.half == "tuning"]
    asked = [
        Asked(f"{one.author}-{number}", one.author, judged)
        for one in sets
        for number, judged in enumerate(one.questions)
        if judged.faults
    ]
    if len(asked) < LEAST_QUESTIONS:
        text = f"has {len(asked)} judged questions about a fault in its tuning half, {LEAST_QUESTIONS} are needed."
        raise FileUnusable(questions, 0, text)
    found = score(full(library.searcher), asked, library.index, event_given=False)
    return {name: sum(found[name].values()) / len(found[name]) for name in (FAULT_FIRST, FAULT_THREE, DRILLS)}
