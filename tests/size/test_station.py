"""Whole stations: built from what there is, never against a safety rule."""

import msgspec
import pytest

from kb.errors import OutOfRange, UnknownName, UsageError
from kb.facade import Library
from kb.model import Sizes
from kb.size import child_of, station_sizes
from kb.size.stock import KitLine
from tests.support import ROOT

LARKMOOR = ROOT / "drills" / "kits" / "larkmoor.yaml"
HEIGHTS = [100, 112, 128, 143, 160, 178]


@pytest.fixture(scope="module")
def kit(starter: Library) -> tuple[KitLine, ...]:
    """Return the kit of the demo club."""
    return starter.kit_list(LARKMOOR)


@pytest.fixture(scope="module")
def stations(starter: Library, kit: tuple[KitLine, ...]) -> list[Sizes]:
    """Return every station of the starter library for children of several heights, built from the demo club's kit."""
    found = []
    for name in starter.index.card_ids:
        card = starter.card(name)
        for height in HEIGHTS if card.size else ():
            sizes = station_sizes(card, [child_of(height, None)], starter.vocabulary, kit, advise=False)
            assert sizes is not None
            found.append(sizes)
    return found


def test_what_is_built_is_what_is_said(starter: Library, stations: list[Sizes]) -> None:
    """The heights of the listed pieces add up to the height reached, and that is within the tolerance."""
    for sizes in stations:
        for piece in sizes.pieces:
            if not piece.fits or piece.along or not piece.build:
                continue
            total = sum(-item.cm if item.above else item.cm for item in piece.build)
            marks = all(starter.vocabulary.equipment[item.item].kind in ("target", "hand") for item in piece.build)
            assert piece.reached_cm == pytest.approx(piece.target_cm if marks else total, abs=0.11)
            if piece.rule != "drop-height-cap":
                assert abs(piece.off_cm or 0) <= piece.tolerance_cm + 0.01


def test_limits_hold(stations: list[Sizes]) -> None:
    """Nothing that must stay below is above, and nothing that must stay above is below."""
    held = [piece for sizes in stations for piece in sizes.pieces if piece.limit and piece.build]
    assert {piece.limit for piece in held} == {"at-most", "at-least"}
    for piece in held:
        assert piece.reached_cm is not None
        assert piece.limit != "at-most" or piece.reached_cm <= piece.target_cm + 0.01
        assert piece.limit != "at-least" or piece.reached_cm >= piece.target_cm - 0.01


def test_no_more_is_used_than_there_is(stations: list[Sizes], kit: tuple[KitLine, ...]) -> None:
    """A station never takes more pieces of a kind than the kit list has."""
    have = {name: sum(count for item, count, _ in kit if item == name) for name, _, _ in kit}
    for sizes in stations:
        used: dict[str, int] = {}
        for piece in sizes.pieces:
            for item in () if piece.along else piece.build:
                used[item.item] = max(used.get(item.item, 0), item.count)
        assert all(count <= have.get(name, 99) for name, count in used.items()), sizes.card


def test_firm_under_soft_and_wide_under_narrow(starter: Library, stations: list[Sizes]) -> None:
    """Nothing firm lies on anything soft; where the card has no soft piece, none is built in."""
    equipment = starter.vocabulary.equipment
    for sizes in stations:
        card = starter.card(sizes.card)
        for use, piece in zip(card.size, sizes.pieces, strict=True):
            for names, items in (
                (use.of, [item for item in piece.build if not item.above]),
                (use.above, [item for item in piece.build if item.above]),
            ):
                if any(equipment[item.item].kind not in ("mat", "block") for item in items):
                    continue
                firm = [equipment[item.item].firm for item in items]
                assert firm == sorted(firm, reverse=True), sizes.card
                if names and all(equipment[name].firm for name in names):
                    assert all(firm), sizes.card


def test_mats_under_a_rail_are_never_thinner_than_the_cards(starter: Library, stations: list[Sizes]) -> None:
    """To come to the right height under a rail, mats are added and none taken away."""
    equipment = starter.vocabulary.equipment
    checked = 0
    for sizes in stations:
        for use, piece in zip(starter.card(sizes.card).size, sizes.pieces, strict=True):
            if any("set at" in item.form for item in piece.build) and use.above:
                built = sum(item.cm for item in piece.build if item.above)
                mats = [equipment[name] for name in use.above if equipment[name].kind == "mat"]
                assert built >= sum(mat.cm[2] for mat in mats), sizes.card
                checked += 1
    assert checked > 100


def test_most_stations_can_be_built_at_larkmoor(stations: list[Sizes]) -> None:
    """For usual heights at least nine pieces of ten are built from the demo club's kit."""
    pieces = [piece for sizes in stations if 110 < sizes.height_cm < 150 for piece in sizes.pieces]
    assert sum(piece.fits for piece in pieces) >= 0.9 * len(pieces)


def test_worked_example(starter: Library, kit: tuple[KitLine, ...]) -> None:
    """110 cm: hip 58.3, less 15: 43.3; a 12 cm mat and the 30 cm soft mat make 42, two pieces, 1.3 under."""
    piece = starter.size("vault-tall-fall", height=110, level=3, kit=kit).pieces[0]
    assert (piece.target_cm, piece.reached_cm, piece.off_cm) == (43.3, 42.0, -1.3)
    assert [(item.item, item.count) for item in piece.build] == [("landing-mat-12", 1), ("soft-mat-30", 1)]


def test_a_measured_length_wins(starter: Library) -> None:
    """The tape beats the table."""
    piece = starter.size("vault-tall-fall", height=110, measured={"hip-height": 70}).pieces[0]
    assert (piece.target_cm, piece.measured) == (55.0, True)


def test_age_alone_gives_a_range(starter: Library) -> None:
    """With an age only, sizes span those of a small and a tall girl of that age."""
    sizes = starter.size("vault-tall-fall", age=9)
    assert sizes.expected_cm == pytest.approx((123.2186, 133.1304, 143.7674))
    low, high = sizes.pieces[0].range_cm or (0, 0)
    assert low < sizes.pieces[0].target_cm < high
    assert low == pytest.approx((0.530 - (0.5263 - 0.5159)) * 123.2186 - 15, abs=0.06)


@pytest.mark.parametrize("height", [60, 220])
def test_a_child_that_there_is_not(starter: Library, height: float) -> None:
    """Sizes are refused, in `find` too."""
    with pytest.raises(OutOfRange, match="from 95 to 180 cm"):
        starter.size("vault-tall-fall", height=height)
    with pytest.raises(OutOfRange, match="from 95 to 180 cm"):
        starter.ask("piking on vault landing", height=int(height))


def test_a_kit_without_a_landing_mat_is_refused(starter: Library) -> None:
    """No station is sized from blocks and panel mats alone."""
    with pytest.raises(UsageError, match="no mat to land on"):
        starter.size("floor-parked-leg-cartwheel", height=128, kit=(("block-40", 2, None), ("panel-mat", 8, None)))


def test_a_kit_without_the_mat_that_catches_her(starter: Library) -> None:
    """A firm landing mat does not stand in for the soft one that she falls on."""
    with pytest.raises(UsageError, match="nothing in this kit list may stand in"):
        starter.size("vault-tall-fall", height=128, kit=(("landing-mat-20", 8, None), ("beanbag", 1, None)))


def test_what_to_do_when_nothing_fits(starter: Library) -> None:
    """The nearest that can be built, what to borrow, and other cards for the same fault."""
    kit = (("soft-mat-30", 1, None), ("landing-mat-20", 1, None), ("panel-mat", 1, None), ("beanbag", 4, None))
    sizes = starter.size("vault-tall-fall", height=160, kit=kit)
    piece = sizes.pieces[0]
    assert not piece.fits
    assert not piece.build
    assert [built.reached_cm for built in piece.nearest] == [50.0]
    assert piece.borrow in {item.name.lower() for item in starter.vocabulary.equipment.values()}
    for name in sizes.instead:
        other = starter.card(name)
        assert {use.fault for use in other.corrects} & {use.fault for use in starter.card("vault-tall-fall").corrects}
        assert starter.size(name, height=160, kit=kit).fits


def test_the_clubs_own_sizes_win(starter: Library) -> None:
    """A mat that the club's list gives as 16 cm high is built in as 16 cm."""
    kit = (("soft-mat-30", 1, None), ("landing-mat-20", 2, (300.0, 200.0, 16.0)), ("beanbag", 4, None))
    piece = starter.size("vault-tall-fall", height=118, kit=kit).pieces[0]
    assert piece.reached_cm == 46.0


def test_names_are_checked(starter: Library) -> None:
    """An unknown card or rule is answered with the nearest."""
    with pytest.raises(UnknownName, match="vault-tall-fall"):
        starter.size("vault-tall-fal", height=128)
    with pytest.raises(UnknownName, match="hip-height"):
        starter.size("vault-tall-fall", height=128, measured={"hip-hight": 60})


def test_find_with_a_height_carries_sizes(starter: Library, kit: tuple[KitLine, ...]) -> None:
    """Read from the words or given as a limit, a height brings the sizes of each drill, built from the kit."""
    for answer in (
        starter.ask("piking on vault landing, she is 128 cm", kit=kit),
        starter.ask("piking on vault landing", height=128, kit=kit),
    ):
        sized = {drill.id: drill.sizes for drill in answer.drills if drill.sizes}
        assert "vault-tall-fall" in sized
        assert sized["vault-tall-fall"] == starter.size("vault-tall-fall", height=128, kit=kit).pieces
    assert not any(drill.sizes for drill in starter.ask("piking on vault landing").drills)


def test_sizes_survive_json(starter: Library) -> None:
    """The promised fields are there and read back."""
    sizes = starter.size("vault-tall-fall", height=128)
    assert msgspec.json.decode(msgspec.json.encode(sizes), type=Sizes) == sizes
