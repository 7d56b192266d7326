"""Read a question: what is a limit (level, age, kit, spotters, event), and what is left describes the fault.

Each reader looks for one thing, takes the words that say it out of the text and notes them, so that the coach sees what
was read and can take it back. A limit given as an option overrides what the words say.
"""

import re
from collections.abc import Callable
from typing import Any

import msgspec

from kb.errors import OutOfRange, UnknownName
from kb.model import Question, ReadingWords, Vocabulary
from kb.search.kit import KitReader, kit_ids
from kb.search.limits import Limits
from kb.search.spelling import Speller

LONGEST = 2_000
"""Characters of a question that are read; more than a coach says in one breath, and the start says what she sees."""


class Reading:
    """A question while it is being read."""

    def __init__(self, text: str, words: Vocabulary, kit: KitReader, ignore: tuple[str, ...]) -> None:
        self.left = text
        """What has not been understood as a limit."""
        self.words = words.reading or ReadingWords()
        self.levels = min(words.levels), max(words.levels)
        self.kit, self.ignore = kit, ignore
        self.holds_kit = kit.may_hold(text)
        self.found: dict[str, Any] = {}
        self.read: dict[str, str] = {}

    def take(self, field: str, patterns: tuple[str, ...], value: Callable[["re.Match[str]"], Any]) -> None:
        """Look for a limit: the first match with a value is taken out of the text and noted."""
        if field in self.ignore or field in self.found:
            return
        for pattern in patterns:
            if "{kits}" in pattern and not self.holds_kit:
                continue
            for match in re.finditer(self.filled(pattern), self.left):
                got = value(match)
                if got is not None:
                    self.note(field, got, match)
                    return

    def note(self, field: str, value: Any, match: "re.Match[str]") -> None:
        """Remember a reading and cut its words out."""
        self.found[field] = value
        self.read[field] = match.group(0).strip(" ,:;-")
        self.left = f"{self.left[: match.start()]} , {self.left[match.end() :]}"

    def filled(self, pattern: str) -> str:
        """Return a pattern of the vocabulary with numbers and kit filled in."""
        numbers = "|".join(self.words.numbers)
        filled = pattern.replace("{n}", rf"(?P<n>\d{{1,2}}|{numbers})")
        return filled.replace("{kits}", self.kit.pattern) if "{kits}" in filled else filled

    def number(self, match: "re.Match[str]", low: int, high: int) -> int | None:
        """Return the number of a match if it is inside the range."""
        groups = match.groupdict()
        word = groups.get("n") or groups.get("word") or ""
        number = int(word) if word.isdigit() else self.words.numbers.get(word, self.words.plurals.get(word))
        return number if number is not None and low <= number <= high else None


def read_level(reading: Reading) -> None:
    """'Level 4', 'L4', 'my fours'."""
    low, high = reading.levels
    reading.take("level", reading.words.level, lambda match: reading.number(match, low, high))


def read_height(reading: Reading) -> None:
    """'128 cm', '1.28 m', '4 ft 2 tall'."""
    reading.take("height_cm", reading.words.height, _centimetres)


def read_age(reading: Reading) -> None:
    """'8 year old', 'she is nine'."""
    reading.take("age", reading.words.age, lambda match: reading.number(match, 4, 18))


def read_spotters(reading: Reading) -> None:
    """'No spotter', 'I'm alone', 'two spotters'."""
    reading.take("spotters", reading.words.spotters_none, lambda _: 0)
    reading.take("spotters", reading.words.spotters_some, lambda match: reading.number(match, 0, 9))


def read_group(reading: Reading) -> None:
    """'A group of eight', 'with 12 kids'."""
    reading.take("group", reading.words.group, lambda match: reading.number(match, 2, 60))


def read_kit(reading: Reading) -> None:
    """'No tramp', 'only panel mats', 'no special kit'."""
    kit, words = reading.kit, reading.words
    reading.take("have", words.bare, lambda _: kit.only(words.bare_kit))
    reading.take(
        "have", words.only, lambda match: kit.only(kit.find(match.groupdict().get("list") or "") or words.bare_kit)
    )
    reading.take("without", words.missing, lambda match: kit.find(match["list"]) or None)


def read_event(reading: Reading) -> None:
    """The event, when exactly one is named; its words stay, since they describe the fault as well."""
    if "event" in reading.ignore:
        return
    heard: dict[str, str] = {}
    for event, patterns in reading.words.event.items():
        match = next((m for pattern in patterns if (m := re.search(pattern, reading.left))), None)
        if match:
            heard[event] = match.group(0)
    if len(heard) == 1:
        ((reading.found["event"], reading.read["event"]),) = heard.items()


READERS: tuple[Callable[[Reading], None], ...] = (
    read_level,
    read_height,
    read_age,
    read_spotters,
    read_group,
    read_kit,
    read_event,
)


def clean(text: str) -> str:
    """Return the text on one line, without control characters, cut to what is read."""
    return " ".join(re.sub(r"[\x00-\x1f\x7f-\x9f\u200b-\u200f\u2028-\u202e\ufeff]", " ", text)[:LONGEST].split())


def read_question(text: str, limits: Limits, words: Vocabulary, kit: KitReader, speller: Speller) -> Question:
    """Return the question with its limits read out and its spelling mended.

    Raises UnknownName for an event or a piece of kit given as an option that the vocabulary does not have, OutOfRange
    for such a level.
    """
    check_limits(limits, words)
    asked = clean(text)
    mended, corrections = speller.mend(asked) if "spelling" not in limits.ignore else (asked, ())
    question = Question(text=asked, symptom=mended, corrections=corrections)
    reading = Reading(mended.lower().replace("’", "'"), words, kit, limits.ignore)
    for reader in READERS:
        reader(reading)
    symptom = tidy(reading.left) or mended
    question = msgspec.structs.replace(question, symptom=symptom, read=reading.read, **reading.found)
    return override(question, limits, words)


def check_limits(limits: Limits, words: Vocabulary) -> None:
    """Refuse options that the vocabulary does not have."""
    if limits.event is not None and limits.event not in words.events:
        raise UnknownName("event", [limits.event], words.events)
    if limits.level is not None and limits.level not in words.levels:
        raise OutOfRange("the level", limits.level, f"from {min(words.levels)} to {max(words.levels)}")


def override(question: Question, limits: Limits, words: Vocabulary) -> Question:
    """Put the options in the place of what was read."""
    options = {
        "event": limits.event,
        "level": limits.level,
        "without": kit_ids(limits.without, words.equipment) or None,
        "have": limits.have,
        "spotters": limits.spotters,
        "height_cm": limits.height_cm,
        "age": limits.age,
        "kit": limits.kit,
    }
    given = {name: value for name, value in options.items() if value is not None}
    read = {name: said for name, said in question.read.items() if name not in given}
    return msgspec.structs.replace(question, **given, read=read)


def tidy(text: str) -> str:
    """Return what is left of a text after words were cut out, without dangling commas and small words at the ends."""
    text = re.sub(r"(?: *[,;:] *)+", ", ", text)
    text = re.sub(r"^[ ,.;:-]+|[ ,;:-]+$", "", text)
    return " ".join(re.sub(r"(?:,? (?:and|but|so|with|for|because))+$|^(?:and|but|so|for|with) ", "", text).split())


TENS = {"twenty": 20, "thirty": 30, "forty": 40, "fifty": 50}
ONES = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")


def _small(word: str) -> int:
    return int(word) if word.isdigit() else ONES.index(word)


def _centimetres(match: "re.Match[str]") -> int | None:
    groups = {name: value for name, value in match.groupdict().items() if value}
    if "cm" in groups:
        found = float(groups["cm"])
    elif "c" in groups:
        found = 100.0 + int(groups["c"])
    elif "tens" in groups:
        found = 100.0 + TENS[groups["tens"]] + _small(groups.get("ones", "0"))
    elif "m" in groups:
        found = float(groups["m"].replace(",", ".")) * 100
    else:
        found = (_small(groups["ft"]) * 12 + _small(groups.get("in", "0"))) * 2.54
    return round(found) if 85 <= found <= 185 else None
