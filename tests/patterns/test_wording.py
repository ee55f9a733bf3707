"""The words of messages: places as the errors name them, and the names that are near."""

from __future__ import annotations

import pytest

from patterns.wording import key_in_words


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("edges.top", "edges.top"),
        ("edges.top[1]", "edges.top, sweep 2"),
        ("edges.top[0]/mirror", "edges.top, sweep 1 mirrored"),
        ("edges.edge_2/straight 1", "edges.edge_2, straight 1"),
        ("cut[0]/mirror", "cut 1 mirrored"),
        ("hole[2]", "hole 3"),
        ("glue[0]", "glue line 1"),
        ("corners.top_left", "corners.top_left"),
    ],
)
def test_a_key_is_told_as_the_places_of_errors_are(key: str, words: str) -> None:
    assert key_in_words(key) == words
