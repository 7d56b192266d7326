"""What is learned from: everything said and written, in order, the same on every run."""

from pathlib import Path

from kb.library import load_collection
from kb.train.texts import HEARD, read_texts, training_texts, write_texts
from tests.support import SMALL, small_library

TSV = "fault\tvoice\tauthor\ttext\nvault-folds-on-landing\tparent\t7\tshe goes in half like a book\n"


def with_said(tmp_path: Path) -> Path:
    """Return a copy of the small library with one more way of saying a fault."""
    library = small_library(tmp_path)
    (library / "vocabulary" / "said").mkdir()
    (library / "vocabulary" / "said" / "vault.tsv").write_text(TSV, "utf-8")
    return library


def test_said_and_heard_are_both_there(tmp_path: Path) -> None:
    """Phrases of the fault files come with author 0, those of the lists with voice and author."""
    collection = load_collection(with_said(tmp_path))
    texts = training_texts(collection)
    mine = [u for u in texts.utterances if u.fault == "vault-folds-on-landing"]
    heard = collection.vocabulary.faults["vault-folds-on-landing"].heard_as
    assert [u.text for u in mine] == [*heard, "she goes in half like a book"]
    assert [(u.voice, u.author) for u in mine] == [(HEARD, 0)] * len(heard) + [("parent", 7)]


def test_about_holds_name_picture_causes_and_cards() -> None:
    """What the library writes of a fault: its name, looks, causes with their checks, and cards made for it."""
    collection = load_collection(SMALL)
    about = training_texts(collection).about
    for fault in collection.vocabulary.faults.values():
        joined = "\n".join(about[fault.id])
        assert fault.looks_like in about[fault.id]
        assert all(cause.tell in joined for cause in fault.causes)
        made_for = [
            c for c in collection.cards.values() if any(u.fault == fault.id and u.weight == 3 for u in c.corrects)
        ]
        assert all(card.title in joined for card in made_for)


def test_it_travels_as_a_file(tmp_path: Path) -> None:
    """Written and read back it is the same, with the same hash; another word gives another hash."""
    texts = training_texts(load_collection(SMALL))
    write_texts(tmp_path / "words.json", texts)
    again = read_texts(tmp_path / "words.json")
    assert again == texts
    assert again.digest() == texts.digest()
    assert training_texts(load_collection(with_said(tmp_path))).digest() != texts.digest()


def test_a_point_of_the_learning_curve() -> None:
    """At most so many of each fault, seeded; more than there are changes nothing but the order."""
    texts = training_texts(load_collection(SMALL))
    few = texts.first(3, seed=1)
    counts = {fault: sum(u.fault == fault for u in few.utterances) for fault in texts.faults}
    assert set(counts.values()) == {3}
    assert few == texts.first(3, seed=1)
    assert sorted(u.text for u in texts.first(999, 1).utterances) == sorted(u.text for u in texts.utterances)


def test_general_sentences_are_of_another_world() -> None:
    """Plain sentences for general meaning, none of them empty or endless."""
    texts = training_texts(load_collection(SMALL))
    assert len(texts.general) > 1000
    assert all(len(text.split()) >= 5 for text in texts.general)
