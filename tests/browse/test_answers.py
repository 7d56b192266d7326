"""The JSON interface against its description, by validators that are not ours."""

import json
from typing import Any

import jsonschema
import msgspec
import pytest
from openapi_spec_validator import validate

from kb.browse.answers import ANSWERS
from kb.browse.openapi import as_text
from kb.browse.serve import site_folder
from kb.facade import Library
from tests.browse.conftest import Get

DOCUMENT: dict[str, Any] = json.loads((site_folder() / "openapi.json").read_text("utf-8"))
CALLS = {
    "/api/ask": [
        "/api/ask?q=piking+on+vault+landing&height=128",
        "/api/ask?q=hit+her+head",
        "/api/ask?q=how+to+teach+a+kip",
    ],
    "/api/drills": ["/api/drills", "/api/drills?event=beam"],
    "/api/drill/{id}": ["/api/drill/vault-tall-fall", "/api/drill/beam-stack-handstand"],
    "/api/drill/{id}/size": ["/api/drill/vault-tall-fall/size?height=128", "/api/drill/vault-tall-fall/size?age=9"],
    "/api/ladder/{id}": ["/api/ladder/kip?level=4", "/api/ladder/vault-tall-fall?afraid=1&spotters=0"],
    "/api/ladders": ["/api/ladders", "/api/ladders?event=bars"],
    "/api/faults": ["/api/faults?event=bars"],
    "/api/fault/{id}": ["/api/fault/vault-pike-before-landing"],
    "/api/kit": ["/api/kit", "/api/kit?have=panel-mat&have=wall"],
    "/api/tray": ["/api/tray?cards=vault-tall-fall,beam-stack-handstand"],
}


def test_the_description_is_valid_and_current() -> None:
    """An OpenAPI validator accepts it; it is what the model says today (`python -m kb.browse.openapi` renews it)."""
    validate(DOCUMENT)
    assert (site_folder() / "openapi.json").read_text("utf-8") == as_text()
    assert set(DOCUMENT["paths"]) == set(CALLS)
    assert len(ANSWERS) == len(CALLS)


@pytest.mark.parametrize(("path", "call"), [(path, call) for path, calls in CALLS.items() for call in calls])
def test_answers_are_as_described(get: Get, path: str, call: str) -> None:
    """A JSON Schema validator finds nothing wrong with what comes back."""
    answer = get(call)
    assert answer.status_code == 200
    schema = DOCUMENT["paths"][path]["get"]["responses"]["200"]["content"]["application/json"]["schema"]
    jsonschema.validate(answer.json(), {**schema, "components": DOCUMENT["components"]})


def test_the_validator_would_notice(get: Get) -> None:
    """Proof that the check can fail: an answer without its drills is refused."""
    answer = get(CALLS["/api/ask"][0]).json()
    del answer["drills"]
    schema = DOCUMENT["paths"]["/api/ask"]["get"]["responses"]["200"]["content"]["application/json"]["schema"]
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(answer, {**schema, "components": DOCUMENT["components"]})


@pytest.mark.parametrize(
    ("call", "status"),
    [
        ("/api/ask", 400),
        ("/api/ask?q=x&level=77", 400),
        ("/api/drill/none", 404),
        ("/api/drill/vault-tall-fall/size", 400),
        ("/api/drill/vault-tall-fall/size?height=10", 400),
        ("/api/kit?have=rocket", 404),
        ("/api/nothing", 404),
    ],
)
def test_errors_are_json(get: Get, call: str, status: int) -> None:
    """One sentence under 'error'."""
    answer = get(call)
    assert answer.status_code == status
    assert set(answer.json()) == {"error"}


def test_the_interface_says_what_the_library_says(starter: Library, get: Get) -> None:
    """The same objects as in Python, apart from the time they took."""
    ours = msgspec.to_builtins(starter.ask("piking on vault landing"))
    theirs = get("/api/ask?q=piking+on+vault+landing").json()
    for answer in (ours, theirs):
        answer.pop("took_ms")
    assert json.loads(json.dumps(ours)) == theirs
