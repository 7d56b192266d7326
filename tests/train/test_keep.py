"""What was taught is kept only when judged questions get better answers; else the library stays as it was."""

from pathlib import Path
from typing import Any

import msgspec
import pytest

from kb.errors import FileUnusable
from kb.facade import Library
from kb.index.encode import PACKAGED, OnnxEncoder
from kb.index.manifest import read_manifest, write_manifest
from kb.score.run import DRILLS, FAULT_FIRST, FAULT_THREE
from kb.search.learned import Learned
from kb.train import keep
from tests.index.test_lee import agreement, people  # noqa: F401 - a fixture
from tests.support import ROOT, small_library

QUESTIONS = ROOT / "tests" / "questions"


@pytest.fixture
def taught(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Any:
    """Return a function that runs keep_if_better with measurements made up, and the library that it runs on."""
    library = small_library(tmp_path)
    (library / "trained").mkdir()
    (library / "trained" / "old").write_text("as it was", "utf-8")
    (tmp_path / "words.json").write_text('{"events": {}, "utterances": [], "about": {}, "skills": []}', "utf-8")

    def models(_taught: Path, folder: Path, *_rest: object) -> None:
        folder.mkdir()
        write_manifest(folder, read_manifest(PACKAGED))

    def run(before: float, after: float) -> keep.Verdict:
        values = iter((before, after))
        monkeypatch.setattr(keep, "export_encoder", models)
        monkeypatch.setattr(keep, "add_classifiers", lambda *_: None)
        monkeypatch.setattr(keep, "measured", lambda *_: {FAULT_FIRST: next(values), FAULT_THREE: 1.0, DRILLS: 1.0})
        return keep.keep_if_better(library, tmp_path, tmp_path / "words.json", {"recipe": {}}, QUESTIONS)

    return run, library


def test_better_is_kept(taught: Any) -> None:
    """The new models take the old ones' place, and the manifest says how good they were."""
    run, library = taught
    verdict = run(0.80, 0.85)
    assert verdict.kept
    assert not (library / "trained" / "old").exists()
    training = read_manifest(library / "trained").training
    assert training is not None
    assert training["scores"][FAULT_FIRST] == 0.85
    assert not (library / "trained.new").exists()


@pytest.mark.parametrize("after", [0.80, 0.79])
def test_no_better_is_refused(taught: Any, after: float) -> None:
    """The same or worse: the old models stand, nothing is left lying about, and the numbers are told."""
    run, library = taught
    verdict = run(0.80, after)
    assert not verdict.kept
    assert (library / "trained" / "old").read_text("utf-8") == "as it was"
    assert not (library / "trained.new").exists()
    assert any(f"{after:.3f} after" in line for line in verdict.lines)
    assert "Not kept" in verdict.lines[-1]


def test_too_few_questions_decide_nothing(starter: Library, tmp_path: Path) -> None:
    """With fewer than twenty judged questions there is no verdict."""
    path = tmp_path / "few.yaml"
    judged = "{q: bent arms, kind: plain, faults: {" + starter.index.fault_ids[0] + ": 2}}"
    path.write_text(f"author: 1\nhalf: tuning\nquestions:\n  - {judged}\n", "utf-8")
    with pytest.raises(FileUnusable, match="has 1 judged questions"):
        keep.measured(starter, path)


# --- what ships


def test_the_shipped_models_belong_together(starter: Library) -> None:
    """Classifiers and encoder are of one run, know every fault, and are small enough to ship."""
    assert starter.trained is not None
    encoder = OnnxEncoder(starter.trained)
    learned = Learned(starter.trained, encoder.fingerprint)
    assert learned.reads_vectors
    assert set(learned.faults) == set(starter.index.fault_ids)
    assert encoder.manifest.model.bytes <= 25_000_000
    training = encoder.manifest.training
    assert training is not None
    assert {"recipe", "texts", "scores"} <= set(training)


def test_the_tuning_half_is_answered_as_the_manifest_says(starter: Library) -> None:
    """The right fault first at least as often as was measured when it was kept, less a question or two."""
    assert starter.trained is not None
    training = read_manifest(starter.trained).training
    assert training is not None
    found = keep.measured(starter, QUESTIONS)
    assert found[FAULT_FIRST] >= training["scores"][FAULT_FIRST] - 0.01


def test_general_meaning_stays(starter: Library, people: Any) -> None:  # noqa: F811 - the fixture
    """On the documents of Lee et al. 2005 the taught encoder is at most 0.03 below the general one (measured: 0.01)."""
    assert starter.trained is not None
    assert agreement(OnnxEncoder(starter.trained), people) >= agreement(OnnxEncoder(PACKAGED), people) - 0.03


def test_the_same_tokenizer_is_kept_once(starter: Library, tmp_path: Path) -> None:
    """Teaching leaves the tokenizer alone, so the general encoder's file is read; another tokenizer would stay."""
    assert starter.trained is not None
    assert not (starter.trained / "tokenizer.json").exists()
    assert OnnxEncoder(starter.trained).count_tokens("bent arms in the cast") == OnnxEncoder().count_tokens(
        "bent arms in the cast"
    )
    other = msgspec.structs.replace(read_manifest(PACKAGED).tokenizer, sha256="0" * 64)
    write_manifest(tmp_path, msgspec.structs.replace(read_manifest(PACKAGED), tokenizer=other))
    (tmp_path / "tokenizer.json").write_text("{}", "utf-8")
    keep.share_tokenizer(tmp_path)
    assert (tmp_path / "tokenizer.json").exists()
    assert not read_manifest(tmp_path).general_tokenizer
