"""Whatever is put into a page is text, and turns nothing else on it round."""

import pytest

from app.web.pages.rendering import rendered

REST = {
    "visit": None,
    "cautions": (),
    "code": "no_such_page",
    "heading": "Nothing",
    "status": 404,
    "is_asked": True,
    "here": "/",
    "logged_as": "",
}


@pytest.mark.parametrize("turning", "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
def test_no_text_turns_the_figure_after_it_round(turning: str) -> None:
    shown = rendered("trouble.html", {**REST, "sentence": f"<b>Tarn{turning} T2</b>"})
    assert "&lt;b&gt;Tarn T2&lt;/b&gt;" in shown
    assert turning not in shown


def test_names_in_other_scripts_stay_as_they_are() -> None:
    name = "גג \u200f60\u200d טנדר"
    assert name in rendered("trouble.html", {**REST, "sentence": name})
