"""The shop file: the built-in default, a maker's own over it key by key, and every mistake of it in its place."""

from __future__ import annotations

import math
import subprocess
import sys
from pathlib import Path

import pytest

from patterns import shopfile
from patterns.errors import PatternError
from patterns.shop import Shop
from patterns.shopfile import DEFAULT_SHOP, ShopInForce

INCH = 25.4


def shop_of(text: str) -> Shop:
    return shopfile.load(text, "shop.toml").shop


def problems(text: str) -> list[str]:
    with pytest.raises(PatternError) as caught:
        shopfile.load(text, "shop.toml")
    assert caught.value.source == "shop.toml"
    return [str(problem) for problem in caught.value.problems]


def figures(shop: ShopInForce) -> dict[str, tuple[str, str]]:
    return {figure.key: (figure.written, figure.origin) for figure in shop.figures}


def test_the_default_shop_is_whole_and_says_that_it_is_the_default() -> None:
    shop = shopfile.load(shopfile.default_text(), DEFAULT_SHOP)
    assert shop.where == DEFAULT_SHOP
    assert {origin for _, origin in figures(shop).values()} == {DEFAULT_SHOP}
    assert all(figure.meaning and figure.written for figure in shop.figures)
    assert shop.shop == shopfile.default()


def test_every_line_of_the_default_that_gives_a_figure_is_in_force() -> None:
    keys = set(figures(shopfile.load(shopfile.default_text(), DEFAULT_SHOP)))
    table = ""
    for line in shopfile.default_text().splitlines():
        if line.startswith("["):
            table = line.split("]")[0][1:] + "."
        elif "=" in line and not line.startswith((" ", "#")):
            assert f"{table}{line.split('=')[0].strip()}" in keys


def test_figures_of_the_default_in_millimetres_and_radians() -> None:
    shop = shopfile.default()
    assert shop.table_saw.tilts == "left"
    assert shop.table_saw.most_tilt == pytest.approx(math.radians(45))
    assert shop.table_saw.gauge_at_square == 0
    assert shop.portable_saw_base_offset == pytest.approx(1.5 * INCH)
    assert shop.bushings[-1] == 30.0
    assert [bit.angle for bit in shop.bits if bit.name == "dovetail 1/2"] == [pytest.approx(math.radians(14))]
    assert min(drum.diameter for drum in shop.drums) == pytest.approx(INCH / 2)


def test_a_partial_file_overrides_key_by_key_and_says_so() -> None:
    shop = shopfile.load('[table_saw]\ntilts = "right"\n[sanding]\ndrums = ["20 mm"]\n', "my-shop.toml")
    assert shop.where == "my-shop.toml"
    assert shop.shop.table_saw.tilts == "right"
    assert shop.shop.table_saw.kerf == shopfile.default().table_saw.kerf
    assert [drum.diameter for drum in shop.shop.drums] == [20.0]
    given = {key for key, (_, origin) in figures(shop).items() if origin == "my-shop.toml"}
    assert given == {"table_saw.tilts", "sanding.drums"}


def test_a_file_in_millimetres_leaves_the_default_s_inches_alone() -> None:
    shop = shop_of('units = "mm"\n[router]\nbase_offset = 80\n')
    assert shop.router_base_offset == 80.0
    assert shop.portable_saw_base_offset == pytest.approx(1.5 * INCH)


def test_bare_figures_are_inches_unless_told() -> None:
    assert shop_of("[router]\nbase_offset = 2.5\n").router_base_offset == pytest.approx(2.5 * INCH)


def test_a_shop_may_lack_a_machine() -> None:
    shop = shop_of("[band_saw]\nblades = []\n[sanding]\ndrums = []\n[router]\nround_over_bits = []\n")
    assert (shop.blades, shop.drums, shop.round_over_bits) == ((), (), ())


def test_display_of_the_shop() -> None:
    display = shop_of('[display]\ninch_fraction = 16\nmetric_step = "1 mm"\n').display("in")
    assert (display.units, display.inch_fraction, display.metric_step_mm) == ("in", 16, 1.0)


def test_every_mistake_in_one_go() -> None:
    found = problems(
        'tablesaw = 1\nunits = "yd"\n[table_saw]\ntilts = "up"\ngauge_at_square = 45\nmost_tilt = 89\n'
        '[display]\ninch_fraction = 33\nmetric_step = "0.001 mm"\n[sanding]\ndrums = [-1, true]\n'
        '[router]\nbits = [{ name = "x" }]\nbushings = ["a"]\n[band_saw]\nblades = [{ width = "1/4", radius = 1 }]\n'
        "[allowances]\nleave = -1\nfit = 0\n"
    )
    assert sorted(line.split(":")[0] for line in found) == sorted(
        [
            "tablesaw",
            "units",
            "table_saw, tilts",
            "table_saw, gauge_at_square",
            "table_saw, most_tilt",
            "display, inch_fraction",
            "display, metric_step",
            "sanding, drums, drum 1",
            "sanding, drums, drum 2",
            "router, bits, bit 1, diameter",
            "router, bushings, bushing 1",
            "band_saw, blades, blade 1, radius",
            "band_saw, blades, blade 1, least_radius",
            "allowances, leave",
        ]
    )
    assert 'tablesaw: unknown key; the nearest is "table_saw"' in found
    assert "table_saw, gauge_at_square: must be 0 or 90, not 45" in found


@pytest.mark.parametrize("key", ["display", "table_saw", "router"])
def test_a_figure_where_a_table_is_wanted(key: str) -> None:
    assert problems(f"{key} = 3\n")[0].startswith(f"{key}: must be a table")


@pytest.mark.parametrize("fraction", ["0", "-8", "12", '"32"', "32.0", "true"])
def test_inch_fractions_that_no_rule_has(fraction: str) -> None:
    assert problems(f"[display]\ninch_fraction = {fraction}\n")[0].startswith(
        "display, inch_fraction: must be 1, 2, 4,"
    )


def test_broken_and_empty_files() -> None:
    assert problems("")[0] == "is empty; leave it out to use the default shop"
    with pytest.raises(PatternError, match=r"shop\.toml: line 2, column 9"):
        shopfile.load("[table_saw]\ntilts = left\n", "shop.toml")


# -------------------------------------------------------------------- where it is found


@pytest.fixture
def settings_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder of settings of a person who has none yet."""
    monkeypatch.setattr(shopfile, "usual_path", lambda: tmp_path / "curvewright" / "shop.toml")
    return tmp_path / "curvewright"


def test_without_a_file_the_default_is_in_force(settings_folder: Path) -> None:
    found = shopfile.find()
    assert (found.where, found.text) == (DEFAULT_SHOP, shopfile.default_text())


def test_the_usual_file_is_found(settings_folder: Path) -> None:
    settings_folder.mkdir()
    (settings_folder / "shop.toml").write_text('[allowances]\nleave = "1/16"\n')
    found = shopfile.find()
    assert found.shop.leave == pytest.approx(INCH / 16)
    assert found.where == "shop.toml"


def test_a_file_that_is_named_goes_before_the_usual_one(settings_folder: Path, tmp_path: Path) -> None:
    settings_folder.mkdir()
    (settings_folder / "shop.toml").write_text("broken")
    named = tmp_path / "class.toml"
    named.write_text('[allowances]\nleave = "1/8"\n')
    assert shopfile.find(named).where == "class.toml"


def test_a_named_file_that_is_not_there_is_no_default_shop(settings_folder: Path, tmp_path: Path) -> None:
    with pytest.raises(PatternError, match=r"my-shop\.toml: there is no such file"):
        shopfile.find(tmp_path / "my-shop.toml")


def test_the_text_kept_with_a_printing_gives_the_same_shop_again() -> None:
    own = shopfile.load('[table_saw]\ntilts = "right"\n', "shop.toml")
    assert shopfile.load(own.text, own.where) == own
    usual = shopfile.load(shopfile.default_text(), "sheets.pdf")
    assert usual.where == "sheets.pdf"


def test_an_unchanged_copy_of_the_default_is_in_force_by_its_own_name() -> None:
    copy = shopfile.load(shopfile.default_text(), "bench.toml")
    assert copy.where == "bench.toml"
    assert {figure.origin for figure in copy.figures} == {"bench.toml"}
    assert copy.shop == shopfile.default()


def test_the_usual_path_ends_in_the_file_s_name() -> None:
    assert shopfile.usual_path().name == "shop.toml"
    assert "curvewright" in shopfile.usual_path().parts


def test_reading_a_shop_loads_neither_scipy_nor_platformdirs() -> None:
    """Start-up: only looking for the file needs the platform's folders, and nothing here needs scipy."""
    code = (
        "import sys; from patterns import shopfile, shopcheck, patternfile; shopfile.default()\n"
        "print(sorted({'scipy', 'platformdirs', 'shapely'} & set(sys.modules)))"
    )
    root = Path(__file__).parents[2]
    done = subprocess.run([sys.executable, "-c", code], cwd=root, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
