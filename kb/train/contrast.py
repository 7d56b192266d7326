"""Train the encoder so that ways of saying one fault lie together and those of its neighbours apart.

Each batch holds every fault once or more: two of its ways of being said, or one of them and something the library
writes about it. All other faults of the batch are negatives. Some batches hold the faults of one event only, several
pairs of each: these are the hard negatives. General
sentences are held where the general encoder puts them, so that general meaning stays.
"""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Iterator
from typing import Any

from msgspec import Struct

from kb.train.noise import mistype
from kb.train.texts import TrainingTexts

Pair = tuple[str, str, int]
"""Two texts and the number of what they are about."""


class Recipe(Struct, frozen=True):
    """How the encoder is trained; it stands in the manifest."""

    passes: int = 10
    """Times that every utterance is seen as the first of a pair."""
    learning_rate: float = 5e-5
    warm_up: float = 0.1
    """Part of the steps during which the rate climbs; then it falls to nothing in a straight line."""
    scale: float = 20.0
    """What the cosines are multiplied by."""
    smoothing: float = 0.05
    """Part of the target given to all faults alike."""
    typing: float = 0.06
    """Part of the words of the first text that are mistyped."""
    written: float = 0.25
    """Part of the pairs whose second text is from the library's own writing."""
    one_event: float = 0.3
    """Part of the batches that hold the faults of a single event."""
    skills: float = 0.1
    """Part of the batches that hold names of skills."""
    general: float = 100.0
    """Weight of the part of the loss that holds general sentences where the general encoder puts them."""
    held: int = 48
    """General sentences in a batch."""
    keep: float = 0.1
    """Part of the way back to the general encoder's weights after training."""
    batch: int = 160
    """Pairs in a batch."""
    longest: int = 64
    """Tokens of a text that are read in training."""
    sizes: tuple[int, ...] = (384,)
    """Leading dimensions that must each do the work alone (Matryoshka)."""
    seed: int = 1


def train(model: Any, texts: TrainingTexts, recipe: Recipe) -> list[float]:
    """Train a SentenceTransformer in place and return the mean loss of each pass."""
    import torch

    torch.manual_seed(recipe.seed)
    start = {name: weight.detach().clone() for name, weight in model.named_parameters()}
    batches = list(all_batches(texts, recipe))
    held = list(_held(model, texts, recipe)) if recipe.general and texts.general else []
    rng = random.Random(recipe.seed)  # noqa: S311 - a draw, not a secret
    optimiser = torch.optim.AdamW(model.parameters(), lr=recipe.learning_rate, weight_decay=0.0)
    schedule = torch.optim.lr_scheduler.LambdaLR(optimiser, _rates(len(batches), recipe.warm_up))
    losses: list[float] = []
    model.train()
    for batch in batches:
        still = rng.sample(held, min(recipe.held, len(held)))
        loss = _loss(model, batch, still, recipe)
        optimiser.zero_grad()
        loss.backward()
        torch.nn.utils.clip_grad_norm_(model.parameters(), 1.0)
        optimiser.step()
        schedule.step()
        losses.append(float(loss.detach()))
    _pull(model, start, recipe.keep)
    model.eval()
    each = max(1, len(losses) // recipe.passes)
    return [sum(losses[at : at + each]) / each for at in range(0, each * recipe.passes, each)]


def all_batches(texts: TrainingTexts, recipe: Recipe) -> Iterator[list[Pair]]:
    """Yield the batches of a whole run, drawn with the recipe's seed."""
    rng = random.Random(recipe.seed)  # noqa: S311 - a draw, not a secret
    said: dict[str, list[str]] = defaultdict(list)
    for utterance in texts.utterances:
        said[utterance.fault].append(utterance.text)
    decks = {fault: _deck(found, rng) for fault, found in said.items()}
    events = sorted(set(texts.events.values()))
    numbers = {fault: number for number, fault in enumerate(texts.faults)}
    for _ in range(max(1, recipe.passes * len(texts.utterances) // recipe.batch)):
        draw = rng.random()
        if draw < recipe.skills and texts.skills:
            yield _skill_pairs(texts, recipe, rng)
            continue
        pool = list(decks)
        if draw < recipe.skills + recipe.one_event:
            event = rng.choice(events)
            pool = [fault for fault in decks if texts.events[fault] == event]
        faults = _spread(pool, recipe.batch, rng)
        yield [(*_pair(decks[fault], texts.about[fault], recipe, rng), numbers[fault]) for fault in faults]


def _spread(pool: list[str], size: int, rng: random.Random) -> list[str]:
    """Return `size` faults of the pool, each as often as the others."""
    found: list[str] = []
    while len(found) < size:
        rng.shuffle(pool)
        found += pool
    return found[:size]


def _deck(texts: list[str], rng: random.Random) -> Iterator[str]:
    """Yield the texts in random order, all of them before any comes again."""
    while True:
        rng.shuffle(texts)
        yield from list(texts)


def _pair(deck: Iterator[str], about: tuple[str, ...], recipe: Recipe, rng: random.Random) -> tuple[str, str]:
    first = mistype(next(deck), rng, recipe.typing)
    return first, rng.choice(about) if rng.random() < recipe.written else next(deck)


def _skill_pairs(texts: TrainingTexts, recipe: Recipe, rng: random.Random) -> list[Pair]:
    order = rng.sample(range(len(texts.skills)), min(len(texts.skills), recipe.batch))
    drawn = ((rng.sample(texts.skills[number], 2), number) for number in order)
    return [(mistype(first, rng, recipe.typing), second, number) for (first, second), number in drawn]


def _rates(steps: int, warm_up: float) -> Any:
    climb = max(1, int(steps * warm_up))
    return lambda step: min(1.0, (step + 1) / climb) * max(0.0, (steps - step) / steps)


def _loss(model: Any, batch: list[Pair], still: list[tuple[str, Any]], recipe: Recipe) -> Any:
    """Return the loss of a batch of pairs, and of general sentences that have moved from where they were."""
    import torch

    size = len(batch)
    texts = [pair[0] for pair in batch] + [pair[1] for pair in batch] + [text for text, _ in still]
    vectors = _vectors(model, texts, recipe)  # all in one run: many small ones are slow on a GPU
    loss = _pairs_loss(vectors[:size], vectors[size : 2 * size], [number for _, _, number in batch], recipe)
    if still:
        now = torch.nn.functional.normalize(vectors[2 * size :], dim=1)
        moved = (1 - (now * torch.stack([vector for _, vector in still])).sum(1)).mean()
        loss = loss + recipe.general * moved
    return loss


def _pairs_loss(first: Any, second: Any, numbers: list[int], recipe: Recipe) -> Any:
    """Return the cross-entropy of finding the right texts among all of the batch, both ways, for each size."""
    import torch

    labels = torch.tensor(numbers, device=first.device)
    same = (labels[:, None] == labels[None, :]).float()
    target = same / same.sum(1, keepdim=True)
    target = target * (1 - recipe.smoothing) + recipe.smoothing / len(numbers)
    total = torch.zeros((), device=first.device)
    for size in recipe.sizes:
        one = torch.nn.functional.normalize(first[:, :size], dim=1)
        two = torch.nn.functional.normalize(second[:, :size], dim=1)
        scores = one @ two.T * recipe.scale
        forth = -(target * torch.log_softmax(scores, 1)).sum(1).mean()
        back = -(target * torch.log_softmax(scores.T, 1)).sum(1).mean()
        total = total + (forth + back) / 2
    return total / len(recipe.sizes)


def _held(model: Any, texts: TrainingTexts, recipe: Recipe) -> Iterator[tuple[str, Any]]:
    """Yield general sentences with the vectors that they had before training."""
    import torch

    with torch.no_grad():
        for start in range(0, len(texts.general), 256):
            part = list(texts.general[start : start + 256])
            yield from zip(part, torch.nn.functional.normalize(_vectors(model, part, recipe), dim=1), strict=True)


def _vectors(model: Any, texts: list[str], recipe: Recipe) -> Any:
    import torch

    device = next(model.parameters()).device
    tokens = model.tokenizer(texts, padding=True, truncation=True, max_length=recipe.longest, return_tensors="pt").to(
        device
    )
    with torch.autocast(device.type, dtype=torch.bfloat16, enabled=device.type == "cuda"):
        states = model[0].auto_model(**tokens).last_hidden_state
    real = tokens["attention_mask"].unsqueeze(-1).float()
    return (states.float() * real).sum(1) / real.sum(1)


def _pull(model: Any, start: dict[str, Any], part: float) -> None:
    """Move every weight the given part of the way back to where it started."""
    import torch

    if not part:
        return
    with torch.no_grad():
        for name, weight in model.named_parameters():
            weight.lerp_(start[name].to(weight.device), min(1.0, part))
