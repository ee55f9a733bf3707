"""``curvewright schema``: the JSON Schema of the pattern file."""

from __future__ import annotations

import argparse

from cli import report

EPILOG = """\
An editor that knows TOML schemas completes and checks a pattern file with it.

example:  curvewright schema > pattern.schema.json"""


def describe(parser: argparse.ArgumentParser) -> None:
    """It has no options of its own."""
    parser.epilog = EPILOG


def run(arguments: argparse.Namespace) -> None:
    """Prints the schema."""
    from patterns.fileschema import schema

    report.print_json(schema())
