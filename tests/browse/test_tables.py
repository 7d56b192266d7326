"""The tables for staff: complete, with names and links, read only, answering real questions."""

import csv
import html
import io

import pytest
import yaml

from kb.browse.serve import site_folder
from kb.facade import Library
from tests.browse.conftest import Get

QUERIES = yaml.safe_load((site_folder() / "datasette.yaml").read_text("utf-8"))["databases"]["library"]["queries"]


def test_every_card_and_fault_is_a_row(starter: Library, get: Get) -> None:
    """Counted against the library."""
    words = starter.vocabulary
    for table, count in (
        ("drills", len(starter.index.card_ids)),
        ("faults", len(words.faults)),
        ("kit", len(words.equipment)),
        ("skills", len(words.skills)),
    ):
        assert get(f"/library/{table}.json?_size=1").json()["filtered_table_rows_count"] == count


def test_facets_count_what_the_cards_say(starter: Library, get: Get) -> None:
    """Event, stage, spotting, levels, equipment and fault can be chosen from lists with right counts."""
    found = get("/library/drills.json?_size=0&_facet_size=100").json()["facet_results"]
    assert {"event", "stage", "spotting", "levels", "equipment", "faults"} <= set(found)
    cards = [starter.card(name) for name in starter.index.card_ids]
    for result in found["event"]["results"]:
        assert result["count"] == sum(card.event == result["value"] for card in cards)
        assert result["label"] == starter.vocabulary.events[result["value"]].name
    for result in found["levels"]["results"]:
        assert result["count"] == sum(card.fits_level(int(result["value"])) for card in cards)


@pytest.mark.parametrize("name", QUERIES)
def test_ready_queries_answer(get: Get, name: str) -> None:
    """Each ready query finds something, as a page, JSON and CSV, and says what it is for."""
    rows = get(f"/library/{name}.json?_shape=array").json()
    assert rows
    page = get(f"/library/{name}").text
    assert QUERIES[name]["title"] in page
    assert QUERIES[name]["description"].split(".")[0] in html.unescape(page)
    assert len(list(csv.DictReader(io.StringIO(get(f"/library/{name}.csv").text)))) == len(rows)
    if "drill" in rows[0]:
        assert f'href="/drill/{rows[0]["drill"]}"' in page


def test_ten_queries() -> None:
    """There are ten."""
    assert len(QUERIES) == 10


def test_no_kit_means_no_kit(starter: Library, get: Get) -> None:
    """Counted again by hand from the cards."""
    kinds = {"mat", "block", "apparatus"}
    equipment = starter.vocabulary.equipment
    bare = {
        name
        for name in starter.index.card_ids
        if not kinds & {equipment[piece.item].kind for piece in starter.card(name).equipment}
    }
    assert {row["drill"] for row in get("/library/no-kit.json?_shape=array").json()} == bare


def test_rows_link_to_our_pages(get: Get) -> None:
    """Names lead to the card; names stand where the database has ids."""
    page = get("/library/drills?_size=5&event=vault").text
    assert 'href="/drill/vault-' in page
    assert "Vault" in page
    assert 'href="/fault/' in get("/library/faults?_size=2").text
    assert 'href="/drill/vault-tall-fall"' in get("/library/drills/vault-tall-fall").text


def test_full_text_search(get: Get) -> None:
    """Words of the card find it."""
    rows = get("/library/drills.json?_shape=array&_search=orange+chin").json()
    assert "vault-tall-fall" in {row["id"] for row in rows}


def test_nothing_can_be_written_or_asked_in_sql(get: Get) -> None:
    """Arbitrary SQL and the file are closed; the database is read only."""
    assert get("/library?sql=select+1").status_code == 403
    assert get("/library.json?sql=delete+from+drills").status_code in (400, 403)
    assert get("/library.db").status_code == 404
    assert get("/library/drills.csv?_stream=on").status_code in (400, 403)


@pytest.mark.parametrize(
    "table",
    "drills faults causes skills kit mends drill_kit ready_on sizes events stages spotting".split(),
)
def test_every_table_leads_to_pages(get: Get, table: str) -> None:
    """The last column of every row opens a page that is there."""
    rows = get(f"/library/{table}.json?_shape=array&_size=5").json()
    assert rows
    for row in rows:
        assert get(row["page"]).status_code == 200
    assert f'href="{rows[0]["page"]}"' in html.unescape(get(f"/library/{table}?_size=5").text)
