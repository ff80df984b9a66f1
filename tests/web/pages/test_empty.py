"""A registry in which nothing was entered yet says so on every page, and what to begin with."""

import pytest

from tests.web.pages.tabs import Square, Tab


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ("/", "Nothing is in this registry yet"),
        ("/find?q=tarn", "Nothing here is called anything like"),
        ("/coverage", "Everything, so far: no vehicle is in this registry yet"),
        ("/changes", "Confidence is worked out by method"),
        ("/enquiries", "Nobody has asked yet"),
        ("/desk-figures", "Nobody has read a claim blind yet"),
        ("/plan", "Plan a load"),
        ("/submit?q=tarn", "Nothing is called like that"),
    ],
)
def test_a_registry_that_has_just_begun_says_so(town: Square, path: str, words: str) -> None:
    tab = Tab(town.client).get(path)
    assert (tab.status, words in tab.text) == (200, True), tab.text
    assert "Nothing is missing" not in tab.text
