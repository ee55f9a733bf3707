"""``curvewright solve FILE``: which size gives a wanted figure, or the least moves that make figures whole divisions."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from cli import options, quantities, report, request, sheetfigures, sheetform, solving, solving_text, terminal, trials
from cli.figures import normal
from patterns.errors import PatternError, Problem
from patterns.wording import quoted, rather

if TYPE_CHECKING:
    from cli.figures import Figure
    from cli.nudging import Wish
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
  --vary rise --vary width --whole 'radius=1/8' --whole 'overall length=1/8'
                                     nudges both a little, onto eighths

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
        type=_words,
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
    parser.add_argument(
        "--whole",
        metavar="FIGURE=STEP",
        type=_pair,
        action="append",
        default=[],
        help="a figure that shall be a whole number of steps, such as 'rocker / overall length=1/8'; the sizes that vary "
        "are nudged as little as possible; may be given several times",
    )
    sheetform.add_options(parser)
    options.add_sizes(parser)
    options.add_shop(parser)
    options.add_json(parser)
    parser.epilog = EPILOG


def _words(text: str) -> str:
    if Path(text).suffix.lower() in (".toml", ".pdf"):
        raise argparse.ArgumentTypeError(f"{quoted(text)} is a file: give FILE first and --figures after it")
    return text


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
        if len(varied) == len(arguments.wanted) == 1 and not arguments.whole:
            _solve_one(job, varied[0], arguments)
        else:
            _nudge(job, varied, arguments)
    except PatternError as error:
        raise PatternError(error.problems, error.source or job.source.name) from error


def _check_request(arguments: argparse.Namespace) -> None:
    wishes = [*arguments.wanted, *arguments.whole]
    if not arguments.vary and not wishes:
        what = (
            "say what may change and what is wanted: --vary SIZE --wanted 'FIGURE=VALUE'; --figures lists the figures"
        )
        raise PatternError.of("", what)
    if not arguments.vary:
        option = "--wanted" if arguments.wanted else "--whole"
        raise PatternError.of(option, "say which size may change for it, with --vary SIZE")
    if not wishes:
        raise PatternError.of(
            "--vary", "say what is wanted of it, with --wanted 'FIGURE=VALUE' or --whole 'FIGURE=STEP'"
        )


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
        tried = trials.Trials(
            job, [size], [figure], form, lambda count: progress("trying sizes", count, max(count, solving.SAMPLES))
        )
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


# -------------------------------------------------------------------- several sizes


def _nudge(job: Job, sizes: list[Size], arguments: argparse.Namespace) -> None:
    from cli import nudging, nudging_text  # late: needed where several sizes vary

    wishes = _wishes(job, arguments)
    with terminal.progress() as progress:
        figures = [wish.figure for wish in wishes]
        tried = trials.Trials(job, sizes, figures, None, lambda count: progress("trying sizes", count, max(count, 30)))
        nudged = nudging.nudged(tried, wishes, job.display)
    if arguments.json:
        report.print_json(nudging_text.to_json(nudged))
    if nudged.unmet is not None or nudged.moved is None:
        raise PatternError(nudging_text.problems(nudged, job.display))
    if not arguments.json:
        print("\n".join(nudging_text.lines(nudged, nudged.moved, job.display)).rstrip())


def _wishes(job: Job, arguments: argparse.Namespace) -> tuple[Wish, ...]:
    """What is wanted, exact figures first. Raises PatternError with all that is wrong with it."""
    from cli.leastmoves import Goal  # late, as above
    from cli.nudging import MOST_WISHES, Wish

    asked = [("--wanted", *pair) for pair in arguments.wanted] + [("--whole", *pair) for pair in arguments.whole]
    if len(asked) > MOST_WISHES:
        raise PatternError.of(
            "--wanted, --whole", f"{len(asked)} figures are wanted; {MOST_WISHES} is the most at once"
        )
    found: list[Wish] = []
    wrong: list[Problem] = []
    for option, words, text in asked:
        try:
            figure = trials.find(job, words, option)
            place = f"{option} {quoted(figure.address)}"
            value = quantities.read(text, figure.unit, job.display, place)
            _check_wish(option, place, figure, value, text, [wish.figure for wish in found])
        except PatternError as error:
            wrong += error.problems
            continue
        found.append(Wish(figure, Goal(wanted=value) if option == "--wanted" else Goal(step=value)))
    if wrong:
        raise PatternError(wrong)
    return tuple(found)


def _check_wish(option: str, place: str, figure: Figure, value: float, text: str, before: list[Figure]) -> None:
    if figure.is_count:
        what = (
            "is a count, which changes in steps: it can be wanted of one size alone, with one --vary and one --wanted"
        )
        raise PatternError.of(place, what)
    if figure.value is None:
        raise PatternError.of(place, "there is none at present, so it can't be nudged")
    if option == "--whole" and value <= 0.0:
        raise PatternError.of(place, f"{text} is no step: it has to be more than 0, such as 1/8")
    if figure in before:
        raise PatternError.of(place, "is wanted twice; say once what it shall be")


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
