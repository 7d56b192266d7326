"""The JSON Schema of a card's front matter, made from the model and the words of one library, for text editors."""

from typing import Any

import msgspec

from kb.model import FrontMatter, Vocabulary

DIALECT = "https://json-schema.org/draft/2020-12/schema"

EXPRESSED = {"known_words": "event, stage, spotting grade, skills, kit and stand-ins are listed as the only values"}
"""Rules of `check` that the schema holds too, beside the kinds and limits of the fields, and how."""

NOT_EXPRESSED = {
    "known_faults": "the schema lists the faults; which causes a fault has depends on the fault",
    "level_in_order": "that a range runs upward compares two parts of one text",
    "soft_landing": "what may be landed on is a property of the kit, looked up by its id",
    "spotter_count": "compares the number of spotters with what the grade means",
    "hands_named": "counts words of a sentence, and asks for a twin by the grade",
    "heavy_load_capped": "multiplies landings by repetitions",
    "stop_condition": "is about the body under the front matter",
    "cues_quoted": "is about the body under the front matter",
    "body_length": "is about the body under the front matter",
    "sizes_of_own_kit": "compares two lists of one card",
    "links_lead_somewhere": "is about other cards",
    "no_circle": "is about other cards",
    "twin_needs_no_spotter": "is about other cards",
    "not_below_prerequisites": "is about other cards",
    "no_stage_jumped": "is about other cards",
    "one_thing_at_a_time": "is about other cards",
    "size_rules_known": "a rule of sizes.yaml that is missing leaves the card in answers, so the schema allows it",
    "whole numbers": "to JSON Schema 3.0 is a whole number; `check` wants it written 3",
    "headings": "is about the body under the front matter",
    "folder": "compares the event with the folder that the card lies in",
    "file": "YAML that cannot be read at all: a key given twice, a tag, an alias, no closing dashes",
}
"""Rules of `check` that a schema of the front matter cannot hold, by name, and why."""

ENUMERATED = {
    "event": "events",
    "stage": "stages",
    "grade": "spotting",
    "fault": "faults",
    "skills": "skills",
    "item": "equipment",
    "instead": "equipment",
}
"""Field to the part of the vocabulary that lists its values; a list holds them in its entries."""
WHERE = {"FrontMatter": ("event", "stage", "skills"), "Spotting": ("grade",), "Corrects": ("fault",)}


def front_matter_schema(words: Vocabulary) -> dict[str, Any]:
    """Return the schema, draft 2020-12; `$comment` names what it cannot hold."""
    (root,), parts = msgspec.json.schema_components([FrontMatter], ref_template="#/$defs/{name}")
    for name, fields in {**WHERE, "Piece": ("item", "instead")}.items():
        for field in fields:
            held = parts[name]["properties"][field]
            (held["items"] if held.get("type") == "array" else held)["enum"] = list(getattr(words, ENUMERATED[field]))
    return {
        "$schema": DIALECT,
        "title": "Front matter of a drill card",
        "$comment": "Not held here, told by 'drillkb check': " + ", ".join(NOT_EXPRESSED) + ".",
        **root,
        "$defs": parts,
    }
