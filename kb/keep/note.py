"""A pasted note, in whatever form a coach keeps one, becomes the fields of a card as far as it tells them."""

import re

from kb.errors import FileUnusable
from kb.keep.fields import COUNTS, all_fields, card_fields, line
from kb.keep.inspect import judge
from kb.model import SECTIONS, Card, Vocabulary
from kb.search.kit import KitReader

LONGEST_NOTE = 20_000
"""Characters."""
LONGEST_TITLE = 80
LABEL = re.compile(r"^\s*(?:#+ *|\*\*)?(?P<label>[A-Za-z][A-Za-z -]{1,28}?)(?:\*\*)?\s*:(?:\*\*)?\s*(?P<rest>.*)$")
HEADING = re.compile(r"^\s*(?:#+ *|\*\*)(?P<label>[A-Za-z][A-Za-z -]{1,28}?)\s*(?:\*\*)?\s*:?\s*$")
LEVEL = re.compile(r"\b(?:levels?|lvl|l) ?(\d{1,2})(?: ?(?:-|–|to|and|/) ?(?:l|level)? ?(\d{1,2}))?\b", re.I)
MINUTES = re.compile(r"\b(\d{1,2}) ?(?:min|mins|minutes?)\b", re.I)
KIT_FIRST = re.compile(r"(?:\d+|an?|one|two|three|four|put|place|lay|stack|set|use|with) ", re.I)
"""How a sentence begins that says what stands where."""
REPS = re.compile(r"\b(?:x ?(\d{1,2})|(\d{1,2}) ?(?:x|reps?|repetitions|times|goes|turns))\b", re.I)


def note_fields(text: str, words: Vocabulary) -> dict[str, str]:
    """Return the fields that a note tells; `noted` holds the words to search its fault by.

    A note may be a whole card, have labels ("Set up: ..."), numbered steps and cues in quotation marks, or be a few
    sentences: the first is then the title and all are the steps.
    """
    text = text[:LONGEST_NOTE].replace("\r\n", "\n").strip()
    if text.startswith("---"):
        try:
            card = judge(text, "note/note.md", words).card or _in_its_folder(text, words)
        except FileUnusable:
            card = None
        if card:
            return {name: held for name, held in card_fields(card).items() if held and name != "id"}
    title, labelled, loose = _cut(text)
    found = {"title": title, **_limits(text), **_kit(text, words), **labelled}
    if event := next((event for event in words.events if re.search(rf"\b{event}\b", text, re.I)), ""):
        found.setdefault("event", event)
    found.update({name: held for name, held in _loose_text(loose, KitReader(words)).items() if name not in found})
    found["noted"] = (
        labelled.get("corrects", "") or line(f"{title}. {labelled.get('Fixes', '')} {' '.join(loose)}")[:300]
    )
    if "corrects" in found and "/" not in found["corrects"]:
        del found["corrects"]
    return {name: held.strip() for name, held in found.items() if held.strip()}


def _in_its_folder(text: str, words: Vocabulary) -> Card | None:
    event = re.search(r"^event: *([a-z-]+)", text, re.M)
    return judge(text, f"{event[1]}/note.md", words).card if event else None


def _cut(text: str) -> tuple[str, dict[str, str], list[str]]:
    """Return the title, what stands under labels, and the lines that stand under none."""
    names = {_key(name): field.field for field in all_fields().values() for name in (field.field, *field.aka)}
    title, labelled, loose = "", dict[str, str](), list[str]()
    here: str | None = None
    for raw in text.split("\n"):
        match = LABEL.match(raw) or HEADING.match(raw)
        field = names.get(_key(match["label"])) if match else None
        if match and field:
            here = field if field != "title" else None
            rest = match.groupdict().get("rest") or ""
            if field == "title":
                title = title or rest
            elif rest:
                labelled[field] = _joined(labelled.get(field, ""), rest)
        elif not raw.strip():
            here = here if here in SECTIONS else None
        elif here:
            labelled[here] = _joined(labelled.get(here, ""), raw.strip())
        elif not title:
            title, rest = _first_sentence(raw.strip(" #*-"))
            loose += [rest] if rest else []
        else:
            loose.append(raw.strip())
    return title, labelled, loose


def _joined(before: str, more: str) -> str:
    return f"{before}\n{more}" if before else more


def _first_sentence(text: str) -> tuple[str, str]:
    match = re.match(rf"(.{{3,{LONGEST_TITLE}}}?)(?:[.:!] +|[.:!]?$| - )(.*)", text)
    return (match[1].strip(), match[2].strip()) if match else (text[:LONGEST_TITLE].rsplit(" ", 1)[0], text)


def _limits(text: str) -> dict[str, str]:
    found: dict[str, str] = {}
    if match := LEVEL.search(text):
        found["level"] = f"{match[1]}-{match[2]}" if match[2] else match[1]
    if match := MINUTES.search(text):
        found["group.minutes"] = match[1]
    if match := REPS.search(text):
        found["group.reps"] = match[1] or match[2]
    return found


def _kit(text: str, words: Vocabulary) -> dict[str, str]:
    """Return the pieces of kit named in a text, each with the number before it."""
    reader, said = KitReader(words), text.lower()
    found: dict[str, int] = {}
    for match in reader.one.finditer(said):
        for item in reader.find(match.group(0)):
            before = re.search(r"(\d{1,2}|\b[a-z]+)(?: ?x| ?×)? *$", said[: match.start()])
            count = int(before[1]) if before and before[1].isdecimal() else COUNTS.get(before[1] if before else "", 1)
            found[item] = max(found.get(item, 0), count)
    return {"equipment": "; ".join(f"{count} {item}" for item, count in found.items() if count)} if found else {}


def _loose_text(loose: list[str], kit: KitReader) -> dict[str, str]:
    """Return steps, cues and set-up of the lines under no label: cues are what is quoted, set-up only names kit."""
    text = "\n".join(loose)
    cues = list(dict.fromkeys(re.findall(r'["“]([^"”]{3,80})["”]', text)))
    numbered = [re.sub(r"^\d+[.)] +", "", one) for one in loose if re.match(r"\d+[.)] ", one)]
    sentences = [] if numbered else re.split(r"(?<=[.!]) +|\n", re.sub(r'["“][^"”]{3,80}["”]\.?', "", text))
    sentences = [one.strip(" -*•") for one in sentences if _says_more(one)]
    set_up = [one for one in sentences if re.match(KIT_FIRST, one) and kit.may_hold(one.lower())]
    steps = numbered or [one for one in sentences if one not in set_up]
    found = {
        "Do": "\n".join(f"{number}. {step}" for number, step in enumerate(steps, start=1)),
        "Say": "\n".join(f'- "{cue}"' for cue in cues),
        "Set up": " ".join(set_up),
    }
    return {name: held for name, held in found.items() if held}


def _says_more(sentence: str) -> bool:
    """Say whether a sentence tells more than level, minutes and repetitions."""
    for pattern in (LEVEL, MINUTES, REPS):
        sentence = pattern.sub("", sentence)
    return bool(re.search(r"\w", re.sub(r"(?i)\b(for|and|each|a|child)\b", "", sentence)))


def _key(name: str) -> str:
    return " ".join(re.findall(r"[a-z]+", name.lower()))
