"""A question about a skill ("how do I teach a kip from scratch") is answered with its ladder."""

import re
from functools import lru_cache

from kb.index.store import Index
from kb.index.words import plain, stem, terms
from kb.model import Question, Skill

MOST_OTHER_WORDS = 4
"""Terms beside the skill and the asking itself; with more of them the question describes a fault."""


def asked_skill(question: Question, index: Index) -> Skill | None:
    """Return the skill that the question asks how to teach, or None when it is about something else."""
    text = plain(question.symptom)
    reading = index.vocabulary.reading
    if reading is None:
        return None
    asks = [match for pattern in reading.teach for match in re.finditer(pattern, text)]
    skill, name = named_skill(text, question.event, index)
    if skill is None:
        return None
    left = text.replace(name, " ")
    for match in asks:
        left = left.replace(match.group(0), " ")
    others = [term for term in terms(left) if term not in _stems(reading.small)]
    if not asks:
        return skill if not others else None
    about_fault = set(terms(left)) & _stems(reading.fault_words)
    return skill if len(others) <= MOST_OTHER_WORDS and not about_fault else None


LONG_ENOUGH = 4
"""Letters of a stem from which other forms of a word are taken to be the same word."""


@lru_cache(maxsize=4)
def _stems(words: tuple[str, ...]) -> frozenset[str]:
    return frozenset(terms(" ".join(words)))


def named_skill(text: str, event: str | None, index: Index) -> tuple[Skill | None, str]:
    """Return the skill with the longest name in the text, and that name.

    Skills of the event go before others, and a skill of that very name before one that is also called so.
    """
    best: tuple[tuple[bool, int, bool], Skill | None, str] = ((False, 0, False), None, "")
    for skill in index.vocabulary.skills.values():
        for place, name in enumerate((skill.name, *skill.aka)):
            match = _name_pattern(name).search(text) if _may_hold(text, name) else None
            rank = (skill.event == event, len(match.group(0)), place == 0) if match else best[0]
            if match and rank > best[0]:
                best = (rank, skill, match.group(0))
    return best[1], best[2]


@lru_cache(maxsize=2_000)
def _name_pattern(name: str) -> "re.Pattern[str]":
    words = [_word_pattern(word) for word in re.split(r"[\s-]+", plain(name))]
    return re.compile(r"\b" + r"[\s-]?".join(words) + r"s?\b")


def _may_hold(text: str, name: str) -> bool:
    """Say quickly whether a text can hold a name, so that few patterns have to be made for a first question."""
    return all(root in text for root in _roots(name))


@lru_cache(maxsize=2_000)
def _roots(name: str) -> tuple[str, ...]:
    return tuple(_root(word) for word in re.split(r"[\s-]+", plain(name)))


def _root(word: str) -> str:
    root = stem(word)
    return root if len(root) >= LONG_ENOUGH and word.startswith(root) else word


def _word_pattern(word: str) -> str:
    """Return a pattern for a word and its forms: falling, fall, falls."""
    root = _root(word)
    return re.escape(root) + (r"\w{0,4}" if len(root) >= LONG_ENOUGH and root == stem(word) else "")
