"""The description of the JSON interface, made from the model so that the two agree: `python -m kb.browse.openapi`."""

from typing import Any

import msgspec

from kb.model import Answer, Card, Equipment, Fault, Ladder, Sizes

Parameter = tuple[str, str, str]
"""Name, type and what it is."""

LEVEL = ("level", "integer", "The gymnast's level.")
EVENT = ("event", "string", "shapes, vault, bars, beam or floor.")
HEIGHT = ("height", "number", "Her height in cm, 95 to 180.")
AGE = ("age", "number", "Her age in years, 6 to 13, when her height is not known.")
SPOTTERS = ("spotters", "integer", "Coaches free to spot.")
AFRAID = ("afraid", "string", "1 for the smallest steps.")
HAVE = ("have", "array", "Kit that there is, by id; may be repeated.")

PATHS: dict[str, tuple[str, list[Parameter], Any]] = {
    "/api/ask": (
        "Answer a question in the coach's words.",
        [
            ("q", "string", "The question; required."),
            EVENT,
            LEVEL,
            HEIGHT,
            SPOTTERS,
            ("without", "array", "Kit that is missing; may be repeated."),
            ("ignore", "array", "Readings to take back; may be repeated."),
            ("top", "integer", "How many drills, 1 to 20."),
        ],
        Answer,
    ),
    "/api/drills": ("All drills in short.", [EVENT], "drills"),
    "/api/drill/{id}": ("One card, whole.", [], Card),
    "/api/drill/{id}/size": ("Sizes of a card's station.", [HEIGHT, AGE, LEVEL], Sizes),
    "/api/ladder/{id}": ("The ladder of a skill or of a card.", [LEVEL, SPOTTERS, AFRAID], Ladder),
    "/api/ladders": ("Skills that have a ladder.", [EVENT], "ladders"),
    "/api/faults": ("All faults with their causes.", [EVENT], list[Fault]),
    "/api/fault/{id}": ("One fault.", [], Fault),
    "/api/kit": ("Kinds of kit, and the drills that can be done with what there is.", [HAVE], "kit"),
    "/api/tray": (
        "Cards collected in a tray.",
        [("cards", "string", "Ids with commas between them.")],
        list[Card],
    ),
}
"""Address to summary, what may be asked with it, and what comes back."""

SHORT = {
    "type": "array",
    "items": {
        "type": "object",
        "required": ["id", "title", "event", "level", "stage"],
        "properties": {
            "id": {"type": "string"},
            "title": {"type": "string"},
            "event": {"type": "string"},
            "level": {"type": "array", "items": {"type": "integer"}, "minItems": 2, "maxItems": 2},
            "stage": {"type": "string"},
        },
    },
}
"""What /api/drills returns."""
LADDERS = {
    "type": "array",
    "items": {
        "type": "object",
        "required": ["id", "name", "event", "level", "rungs"],
        "properties": {
            **{name: {"type": "string"} for name in ("id", "name", "event", "level")},
            "rungs": {"type": "integer", "minimum": 1},
        },
    },
}
"""What /api/ladders returns."""


def description() -> dict[str, Any]:
    """Return the OpenAPI 3.1 document."""
    kinds = [kind for _, _, kind in PATHS.values() if not isinstance(kind, str)] + [Equipment]
    schemas, parts = msgspec.json.schema_components(kinds, ref_template="#/components/schemas/{name}")
    by_kind = dict(zip(map(str, kinds), schemas, strict=True))
    equipment = by_kind[str(Equipment)]
    kit = {
        "type": "object",
        "required": ["kit", "drills"],
        "properties": {
            "kit": {"type": "array", "items": equipment},
            "drills": {"type": "array", "items": {"type": "string"}},
        },
    }
    error = {"type": "object", "required": ["error"], "properties": {"error": {"type": "string"}}}
    known = {**by_kind, "drills": SHORT, "ladders": LADDERS, "kit": kit}
    paths = {
        address: {"get": _get(address, summary, parameters, known[str(kind)])}
        for address, (summary, parameters, kind) in PATHS.items()
    }
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "drillkb",
            "version": "1",
            "description": "Read only. A qualified coach decides; your federation's rules and the maker's limits come "
            "first. Pain or a knock to the head is answered with 'stop and refer', never with a drill.",
            "license": {"name": "Apache-2.0", "identifier": "Apache-2.0"},
        },
        "servers": [{"url": "/"}],
        "paths": paths,
        "components": {"schemas": {**parts, "Error": error}},
    }


def _get(address: str, summary: str, parameters: list[Parameter], schema: Any) -> dict[str, Any]:
    error = {"$ref": "#/components/schemas/Error"}
    return {
        "summary": summary,
        "operationId": address.removeprefix("/api/").replace("/{id}", "").replace("/", "_"),
        "parameters": [*_in_path(address), *map(_in_query, parameters)],
        "responses": {
            "200": _json("The answer.", schema),
            "400": _json("It cannot be asked like this.", error),
            "404": _json("There is none of that name.", error),
        },
    }


def _json(text: str, schema: Any) -> dict[str, Any]:
    return {"description": text, "content": {"application/json": {"schema": schema}}}


def _in_path(address: str) -> list[dict[str, Any]]:
    if "{id}" not in address:
        return []
    return [{"name": "id", "in": "path", "required": True, "schema": {"type": "string", "maxLength": 80}}]


def _in_query(parameter: Parameter) -> dict[str, Any]:
    name, kind, text = parameter
    schema: dict[str, Any] = {"type": kind}
    if kind == "array":
        schema["items"] = {"type": "string"}
    found = {"name": name, "in": "query", "description": text, "schema": schema}
    return {**found, "required": True} if text.endswith("required.") else found


def as_text() -> str:
    """Return the document as it stands in site/openapi.json."""
    return msgspec.json.format(msgspec.json.encode(description()), indent=1).decode() + "\n"


if __name__ == "__main__":
    from kb.browse.serve import site_folder

    (site_folder() / "openapi.json").write_text(as_text(), "utf-8")
