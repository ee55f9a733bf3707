"""The form of a sheet, the lattice of sheets, and the sheets' names."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patterns.errors import PatternError
from tiling.form import BAND_MM, SheetForm, checked
from tiling.lattice import Lattice, cell_name, cell_of
from tiling.order import usual_form
from tiling.paper import Paper, paper
from tiling.units import UNITS_PER_MM, to_mm

cells = st.tuples(st.integers(-3000, 3000), st.integers(-3000, 3000))
forms = st.builds(
    SheetForm,
    st.builds(lambda a, b: Paper("some", min(a, b), max(a, b)), st.floats(140, 1200), st.floats(140, 5000)),
    st.sampled_from(["portrait", "landscape"]),
    st.floats(0, 15),
    st.floats(5, 25),
    st.sampled_from([1.0, 25.4 / 8]),
)


@given(cells)
def test_a_name_is_read_back_as_its_cell(cell: tuple[int, int]) -> None:
    assert cell_of(cell_name(cell)) == cell


@given(cells, cells)
def test_no_two_cells_share_a_name(cell: tuple[int, int], other: tuple[int, int]) -> None:
    assert (cell_name(cell) == cell_name(other)) == (cell == other)


@pytest.mark.parametrize(
    ("cell", "name"),
    [((0, 0), "A1"), ((1, 0), "A2"), ((0, 1), "B1"), ((-1, 0), "A-1"), ((0, -1), "-A1"), ((2, 26), "AA3")],
)
def test_names_that_a_maker_reads(cell: tuple[int, int], name: str) -> None:
    assert cell_name(cell) == name


@pytest.mark.parametrize("text", ["", "A", "1", "A0", "a1", "A1 ", "A01", "--A1", "1A", "AAAAA1", "A123456"])
def test_other_texts_are_no_names(text: str) -> None:
    with pytest.raises(ValueError, match="not the name of a sheet"):
        cell_of(text)


@settings(max_examples=100, deadline=None)
@given(forms)
def test_window_and_margins_fit_the_page(form: SheetForm) -> None:
    """The window lies whole inside what the printer reaches, and no strip as wide as a step is given away."""
    width, height = form.page_mm
    for side, window, corner, step in zip((width, height), form.window, form.corner, form.step, strict=True):
        assert to_mm(corner) >= form.margin_mm + BAND_MM - 1e-9
        over = side - to_mm(corner + window) - form.margin_mm
        assert -1e-3 <= over < form.grid_mm + 1e-3
        assert window - step == form.overlap
        steps = to_mm(step) / form.grid_mm
        assert abs(steps - round(steps)) < 0.5 / UNITS_PER_MM / form.grid_mm + 1e-9


@settings(max_examples=100, deadline=None)
@given(forms, cells, st.tuples(st.integers(-(10**7), 10**7), st.integers(-(10**7), 10**7)))
def test_cores_tile_and_windows_overlap_evenly(form: SheetForm, cell: tuple[int, int], phase: tuple[int, int]) -> None:
    lattice = Lattice(form, phase)
    x0, y0, x1, y1 = lattice.core(cell)
    assert lattice.core((cell[0] + 1, cell[1]))[0] == x1
    assert lattice.core((cell[0], cell[1] + 1))[1] == y1
    assert lattice.window((cell[0] + 1, cell[1]))[0] == lattice.window(cell)[2] - form.overlap
    assert lattice.cell_at(x0, y0) == cell
    assert lattice.cell_at(x1 - 1, y1 - 1) == cell


@given(forms)
def test_a_form_is_remembered_to_the_bit(form: SheetForm) -> None:
    try:
        checked(form)
    except PatternError:
        with pytest.raises(PatternError):
            SheetForm.from_json(form.to_json())
    else:
        assert SheetForm.from_json(form.to_json()) == form


@pytest.mark.parametrize(
    ("form", "words"),
    [
        (SheetForm(paper("A4"), margin_mm=-1), "negative"),
        (SheetForm(paper("A4"), overlap_mm=4), "under 5 mm"),
        (SheetForm(paper("A4"), margin_mm=70), "would be left"),
        (SheetForm(paper("A5"), overlap_mm=90), "would be left"),
    ],
)
def test_forms_that_leave_no_room_are_refused_in_words(form: SheetForm, words: str) -> None:
    with pytest.raises(PatternError, match=words):
        checked(form)


@pytest.mark.parametrize("units", ["in", "mm", "cm"])
def test_steps_are_whole_divisions_of_the_rule_in_use(units: str) -> None:
    form = usual_form(units)
    division = 25.4 / 8 if units == "in" else 1.0
    for step in form.step:
        assert to_mm(step) / division == pytest.approx(round(to_mm(step) / division), abs=1e-3)
