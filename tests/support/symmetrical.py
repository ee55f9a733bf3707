"""Pattern files of one part that is its own mirror image, in millimetres, at random."""

from __future__ import annotations

from hypothesis import strategies as st

Draw = st.DrawFn
HEAD = 'curvewright = 1\ntitle = "Mirror piece"\nunits = "mm"\n\n'

TOPS = (
    "",
    'edges.top = {{ arch = "segmental", rise = "{rise}", arch_to = "edge" }}',
    'edges.top = {{ arch = "ogee", rise = "{rise}", arch_to = "edge", round_over = {{ radius = "3" }} }}',
    "edges.top = {{ mirror = true, to = "
    '"{quarter}", points = [["0", "{rise}"], ["{eighth}", "{third}"], ["{quarter}", "0"]] }}',
)
BOTTOMS = (
    "",
    'edges.bottom = {{ arch = "three-centred", rise = "{rise}", arch_to = "inside", from = "{eighth}", to = "{far}" }}',
    'edges.bottom = {{ arch = "segmental", rise = "{third}", arch_to = "inside", leave = "2" }}',
)


@st.composite
def upright(draw: Draw) -> str:
    """A part that mirrors in the upright line through its middle."""
    length = draw(st.integers(160, 1900))
    width = draw(st.integers(70, 320))
    rise = min(width, 0.9 * length) * draw(st.integers(10, 30)) / 100
    figures = {
        "rise": f"{rise:.2f}",
        "third": f"{rise / 3:.2f}",
        "eighth": f"{length / 8:.3f}",
        "quarter": f"{length / 4:.3f}",
        "far": f"{length * 7 / 8:.3f}",
    }
    lines = ["[[part]]", 'name = "board"', f'blank = {{ length = "{length}", width = "{width}" }}']
    lines += [draw(st.sampled_from(edges)).format(**figures) for edges in (TOPS, BOTTOMS)]
    if draw(st.booleans()):
        lines += [
            f'edges.{side} = {{ points = [["0", "0"], ["{width / 4:.2f}", "6"]], to = "{width / 4:.2f}" }}'
            for side in ("left", "right")
        ]
    if draw(st.booleans()):
        lines.append(f'glue_lines = ["{width * 0.45:.2f}"]')
    middle = (length / 2, width * 0.52)
    if draw(st.booleans()):
        lines += ["[[part.hole]]", f'circle = "{draw(st.integers(6, 16))}"', f'at = ["{middle[0]}", "{middle[1]:.2f}"]']
    if draw(st.booleans()):
        x = draw(st.integers(30, int(length / 2) - 22))
        lines += [
            "[[part.hole]]",
            'elongated = { length = "14", width = "6", angle = "25" }',
            f'at = ["{x}", "{width * 0.6:.2f}"]',
            "mirror = true",
        ]
    if draw(st.booleans()):
        x = draw(st.integers(10, length // 2 - 5))
        for at in (x, length - x):
            lines += ["[[part.mark]]", f'centre = ["{at}", "{width * 0.5}"]']
        lines += ["[[part.mark]]", f'line = [["{x}", "{width * 0.4}"], ["{length - x}", "{width * 0.4}"]]']
    return HEAD + "\n".join(line for line in lines if line) + "\n"


@st.composite
def level(draw: Draw) -> str:
    """A part that mirrors in the level line through its middle, and in no upright one."""
    length, width = draw(st.integers(60, 400)), draw(st.integers(60, 700))
    depth = draw(st.integers(3, width // 6))
    first, last = length / 5, length * 0.7
    points = f'[["{first}", "0"], ["{length / 3:.3f}", "{depth}"], ["{last}", "0"]]'
    sweep = f'{{ points = {points}, from = "{first}", to = "{last}" }}'
    lines = ["[[part]]", 'name = "rail"', f'blank = {{ length = "{length}", width = "{width}" }}']
    lines += [f"edges.{side} = {sweep}" for side in ("top", "bottom")]
    if draw(st.booleans()):
        lines += [f'corners.{corner} = {{ round = "8" }}' for corner in ("bottom_right", "top_right")]
    if draw(st.booleans()):
        for y in (width * 0.3, width * 0.7):
            lines += ["[[part.hole]]", 'circle = "8"', f'at = ["{length * 0.4}", "{y}"]']
    if draw(st.booleans()):
        lines += ["[[part.mark]]", f'note = "peg"\nat = ["{length * 0.3}", "{width / 2}"]']
    return HEAD + "\n".join(lines) + "\n"
