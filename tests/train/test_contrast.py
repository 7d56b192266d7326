"""Training the encoder: batches hold what they should, and a few steps bring the ways of saying a fault together."""

from collections import Counter

import numpy as np
import pytest

from kb.index.reference import load_model, packaged_checkpoint
from kb.library import load_collection
from kb.train.contrast import Recipe, all_batches, train
from kb.train.texts import TrainingTexts, training_texts
from tests.support import ROOT, SMALL

TEXTS = training_texts(load_collection(SMALL))
STARTER = training_texts(load_collection(ROOT / "drills"))


def test_batches_are_seeded() -> None:
    """The same seed draws the same pairs; another one others."""
    one, two, other = (list(all_batches(TEXTS, Recipe(passes=2, batch=8, seed=seed))) for seed in (1, 1, 2))
    assert one == two
    assert one != other


def test_every_utterance_is_seen_in_every_pass() -> None:
    """Without noise, skills and single events, each way of saying a fault is the first of a pair about once a pass."""
    recipe = Recipe(passes=4, batch=len(TEXTS.faults), typing=0.0, skills=0.0, one_event=0.0, written=1.0)
    seen = Counter(first for batch in all_batches(TEXTS, recipe) for first, _, _ in batch)
    assert {u.text for u in TEXTS.utterances} <= set(seen)


def test_pairs_belong_together() -> None:
    """Both texts of a pair are said or written of the fault whose number they carry."""
    own = {fault: {u.text for u in STARTER.utterances if u.fault == fault} for fault in STARTER.faults}
    for batch in list(all_batches(STARTER, Recipe(passes=1, typing=0.0, skills=0.0)))[:20]:
        for first, second, number in batch:
            fault = STARTER.faults[number]
            assert first in own[fault]
            assert second in own[fault] | set(STARTER.about[fault])


def test_hard_batches_hold_one_event() -> None:
    """About the part asked for holds the faults of a single event, several pairs of each."""
    batches = list(all_batches(STARTER, Recipe(passes=6, skills=0.0, one_event=0.5)))
    single = sum(len({STARTER.events[STARTER.faults[number]] for _, _, number in batch}) == 1 for batch in batches)
    assert 0.35 < single / len(batches) < 0.65


def likeness(model: object, texts: TrainingTexts) -> float:
    """Return how much nearer two ways of saying one fault are than two of different faults."""
    labels = np.array([texts.faults.index(u.fault) for u in texts.utterances])
    vectors = model.encode([u.text for u in texts.utterances], normalize_embeddings=True)  # type: ignore[attr-defined]
    cosines, same = vectors @ vectors.T, labels[:, None] == labels[None, :]
    np.fill_diagonal(same, val=False)
    return float(cosines[same].mean() - cosines[labels[:, None] != labels[None, :]].mean())


@pytest.mark.parametrize("general", [0.0, 50.0])
def test_a_few_steps_bring_one_fault_together(general: float) -> None:
    """After training the ways of one fault are nearer to each other; the pull holds general sentences in place."""
    model = load_model(packaged_checkpoint())
    held = list(TEXTS.general[:16])
    was = model.encode(held, normalize_embeddings=True)
    before = likeness(model, TEXTS)
    recipe = Recipe(passes=12, batch=12, learning_rate=1e-4, skills=0.0, one_event=0.0, general=general, held=8)
    losses = train(model, TEXTS, recipe)
    moved = float((1 - (was * model.encode(held, normalize_embeddings=True)).sum(axis=1)).mean())
    assert losses[-1] < losses[0]
    assert likeness(model, TEXTS) > before + 0.02
    assert moved < (0.02 if general else 1.0)
