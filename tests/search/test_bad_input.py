"""Whatever is typed gets a clear answer or 'no good match', never an error."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kb.facade import Library

NASTY = (
    "",
    " ",
    "\x00\x07\x1b[31m",
    "\ud800",
    "🤸‍♀️🤸‍♀️🤸‍♀️",
    "'; drop table cards; --",
    '" * NEAR ( - ) OR AND NOT ^ : {title}',
    "NEAR(handstand beam, 5)",
    "a" * 10_000,
    "handstand " * 1_000,
    "(" * 500 + ")" * 500,
    "肩が開かない 倒立",
    "sie knickt in der Hüfte ein bevor sie landet",
    "руки согнуты",
    "\u202egnitteg\u202c",
    "%s %d {} {0} \\n \\ /",
    "<script>alert(1)</script>",
    "level level level no no no only only without",
    "no no spotter no no mini tramp and and",
)


@pytest.mark.parametrize("text", NASTY, ids=range(len(NASTY)))
def test_nasty_questions(starter: Library, text: str) -> None:
    """Empty, huge, hostile and foreign questions get one of the three verdicts."""
    answer = starter.ask(text)
    assert answer.verdict in ("answered", "no_good_match", "stop_and_refer")
    assert len(answer.question.text) <= 2_000


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.text(max_size=200))
def test_any_text(starter: Library, text: str) -> None:
    """Random text of any alphabet never raises."""
    assert starter.ask(text).verdict in ("answered", "no_good_match", "stop_and_refer")


WORDS = (
    'level no only without spotter 4 L4 tramp wedge beam vault she her legs bent hurts how teach kip ( " * -'.split()
)


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.sampled_from(WORDS), max_size=14).map(" ".join))
def test_words_of_limits_in_any_order(starter: Library, text: str) -> None:
    """The words that the reader looks for, in senseless order, never raise; only pain stops."""
    answer = starter.ask(text)
    assert answer.verdict != "stop_and_refer" or "hurts" in text


@pytest.mark.parametrize("text", ["asdf qwer zxcv", "🤸", "肩が開かない 倒立", ""])
def test_nothing_understood_is_no_good_match(starter: Library, text: str) -> None:
    """Words that the library knows nothing of bring no drill."""
    answer = starter.ask(text)
    assert answer.verdict == "no_good_match"
    assert answer.drills == ()
