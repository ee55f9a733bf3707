"""``curvewright solve FILE``: which size gives a wanted figure, or the least moves that make figures whole divisions."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from typing import TYPE_CHECKING

from cli import options, quantities, report, request, sheetfigures, sheetform, solving, solving_text, terminal, trials
from cli.figures import normal
from patterns.errors import PatternError, Problem
from patterns.wording import quoted, rather

if TYPE_CHECKING:
    from cli.figures import Figure
    from cli.request import Job
    from patterns.piece import Size
    from tiling.form import SheetForm

MOST_OTHERS = 20
"""So many other sizes are tried for which of them change a figure."""

A_LITTLE = 1e-3
"""The part of its range by which another size is tried."""

EPILOG = """\
A figure is called by the part, the edge and what is measured there, as --figures
lists them; the end of it is enough where it is the only one that ends so. The
size keeps within the limits that the file gives it.

  --figures                          all figures of the piece, as they are now
  --vary rise --wanted 'radius=30'   the rise that gives a radius of 30
  --vary rise --wanted 'sheets / all=6'

example:  curvewright solve cradle.toml --vary arch_rise \\
            --wanted 'foot board / edges.top / length=11 1/4'"""


def describe(parser: argparse.ArgumentParser) -> None:
    """FILE, what may vary, what is wanted."""
    options.add_file(parser)
    parser.add_argument(
        "--figures",
        metavar="WORDS",
        nargs="?",
        const="",
        help="list the figures that can be wanted, or those with these words in them, and stop",
    )
    parser.add_argument(
        "--vary", metavar="SIZE", action="append", default=[], help="a size that may change; may be given several times"
    )
    parser.add_argument(
        "--wanted",
        metavar="FIGURE=VALUE",
        type=_pair,
        action="append",
        default=[],
        help="what a figure shall be; may be given several times",
    )
    sheetform.add_options(parser)
    options.add_sizes(parser)
    options.add_shop(parser)
    options.add_json(parser)
    parser.epilog = EPILOG


def _pair(text: str) -> tuple[str, str]:
    figure, equals, value = text.rpartition("=")
    if not equals or not figure.strip() or not value.strip():
        raise argparse.ArgumentTypeError(f"'{text}' is not FIGURE=VALUE, such as 'rocker / overall length=15 1/2'")
    return figure.strip(), value.strip()


def run(arguments: argparse.Namespace) -> None:
    """Prints the answer. Raises PatternError where there is none, with how near it gets."""
    given = options.sizes_given(arguments.size)
    job = request.read(arguments.file, given, arguments.shop)
    try:
        if arguments.figures is not None:
            _list_figures(job, arguments)
            return
        _check_request(arguments)
        varied = _varied(job, arguments.vary, given)
        _solve_one(job, varied[0], arguments)
    except PatternError as error:
        raise PatternError(error.problems, error.source or job.source.name) from error


def _check_request(arguments: argparse.Namespace) -> None:
    if not arguments.vary and not arguments.wanted:
        what = (
            "say what may change and what is wanted: --vary SIZE --wanted 'FIGURE=VALUE'; --figures lists the figures"
        )
        raise PatternError.of("", what)
    if not arguments.vary:
        raise PatternError.of("--wanted", "say which size may change for it, with --vary SIZE")
    if not arguments.wanted:
        raise PatternError.of("--vary", "say what is wanted of it, with --wanted 'FIGURE=VALUE'")


def _varied(job: Job, names: Sequence[str], given: dict[str, str]) -> list[Size]:
    """The sizes that may change. Raises PatternError, with all mistakes, where there is none of a name, or twice."""
    known = {size.name: size for size in job.piece.sizes}
    found: list[Problem] = []
    for k, name in enumerate(names):
        place = f"--vary {name}"
        if name not in known:
            hint = rather(name, known) if known else "the file has no sizes"
            found.append(Problem(place, f"there is no size {quoted(name)}; {hint}"))
        elif name in names[:k]:
            found.append(Problem(place, "given twice; give it once"))
        elif name in given:
            found.append(
                Problem(place, f"is given a value too, with --size {name}={given[name]}; leave one of them out")
            )
    if found:
        raise PatternError(found)
    return [known[name] for name in names]


# -------------------------------------------------------------------- one size


def _solve_one(job: Job, size: Size, arguments: argparse.Namespace) -> None:
    (words, value), *_ = arguments.wanted
    figure = trials.find(job, words, "--wanted")
    form = sheetform.asked_for(arguments, job, None) if figure.report == sheetfigures.NAME else None
    wanted = quantities.read(value, figure.unit, job.display, f"--wanted {quoted(figure.address)}")
    if figure.is_count and wanted != int(wanted):
        raise PatternError.of(f"--wanted {quoted(figure.address)}", f"{value} is no count: it takes a whole number")
    with terminal.progress() as progress:
        tried = trials.Trials(job, [size], [figure], form, lambda count: progress("trying sizes", count, count))
        answer = solving.solved(tried, wanted, job.display)
    if arguments.json:
        report.print_json(solving_text.to_json(answer, job.display))
    if not answer.solutions:
        raise PatternError(solving_text.problems(answer, job.display, _that_change(job, size, figure, form)))
    if not arguments.json:
        print("\n".join(solving_text.lines(answer, job.display)).rstrip())


def _that_change(job: Job, size: Size, figure: Figure, form: SheetForm | None) -> list[str]:
    """The other sizes of the file that change the figure."""
    found = []
    for other in [one for one in job.piece.sizes if one.name != size.name][:MOST_OTHERS]:
        reach = solving.range_of(other)
        here = trials.own_unit(other, other.value)
        step = (reach.high - reach.low) * A_LITTLE
        tried = trials.Trials(job, [other], [figure], form)
        try:
            if tried.at(here) != tried.at(here + step if here + step <= reach.high else here - step):
                found.append(other.name)
        except trials.Untried:
            continue
    return found


# -------------------------------------------------------------------- the list of figures


def _list_figures(job: Job, arguments: argparse.Namespace) -> None:
    counts = sheetfigures.counted(job, sheetform.asked_for(arguments, job, None))
    words = arguments.figures
    pages = [figure for figure in sheetfigures.figures(job) if figure.address == sheetfigures.PAGES]
    every = [one for one in (*trials.all_figures(job), *counts) if one.is_number and one.value is not None]
    words_wanted = normal(words).split()
    told = [one for one in (*every, *pages) if all(word in normal(one.address) for word in words_wanted)]
    if not told:
        raise PatternError.of(f"--figures {quoted(words)}", "no figure has these words; without them all are listed")
    if arguments.json:
        report.print_json(solving_text.figures_json(told))
        return
    rows = [(_value(one, job), one.address) for one in told]
    print("\n".join(report.table(("now", "figure"), rows, right="rl")))


def _value(figure: Figure, job: Job) -> str:
    if figure.address == sheetfigures.PAGES:
        return "when printed"
    return quantities.shown(float(figure.value or 0), figure.unit, job.display)
