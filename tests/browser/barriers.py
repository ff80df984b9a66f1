"""What stands in somebody's way on a page: axe's rules once, and its rule on contrast in the light and in the dark.

The contrast of a piece of text follows from its colour, its size and what is painted beneath it. To work that out takes
axe four fifths of its time, and a page has hundreds of pieces that look the same: of each look one is judged, the first
that axe can judge (on a gradient it can judge none). With all night, each piece is.
"""

from typing import Final

from axe_playwright_python.base import AXE_SCRIPT
from playwright.sync_api import Page

from tests.night import NIGHT

TOLD: Final = "found.violations.flatMap(each => each.nodes.map(node => `${each.id}: ${node.html.slice(0, 160)}`))"

BUT_CONTRAST: Final = f"""() => axe
    .run({{resultTypes: ['violations'], rules: {{'color-contrast': {{enabled: false}}}}}})
    .then(found => {TOLD})"""

CONTRAST: Final = f"""async ([judged, each_piece]) => {{
    const known = new Set(judged), grounds = new Map([[null, '']]), looks = new Map(), alike = new Map(), wrong = []
    const ground = each => {{
        if (!grounds.has(each)) {{
            const style = getComputedStyle(each)
            const own = [style.backgroundColor, style.backgroundImage, style.opacity, style.position, style.float,
                style.filter, style.mixBlendMode, style.clipPath, style.maskImage].join(' ')
            const nothing = 'rgba(0, 0, 0, 0) none 1 static none none normal none none'
            grounds.set(each, ground(each.parentElement) + (own === nothing ? '' : `${{own}};`))
        }}
        return grounds.get(each)
    }}
    const look = each => {{
        const style = getComputedStyle(each)
        return [each.localName, style.color, style.fontSize, style.fontWeight, style.textShadow,
            style.webkitTextStroke, ground(each)].join()
    }}
    const says = each => each.matches('input, select, textarea')
        || [...each.childNodes].some(one => one.nodeType === Node.TEXT_NODE && one.data.trim())
    const judge = async pieces => {{
        if (!pieces.length) return
        const found = await axe.run(pieces,
            {{runOnly: ['color-contrast'], resultTypes: ['violations', 'passes'], elementRef: true}})
        wrong.push(...{TOLD})
        for (const each of [...found.passes, ...found.violations])
            for (const node of each.nodes) known.add(looks.get(node.element))
    }}
    for (const each of document.body.querySelectorAll('*')) {{
        if (!says(each)) continue
        const its = look(each)
        looks.set(each, its)
        if (each_piece || !known.has(its)) alike.set(its, [...alike.get(its) ?? [], each])
    }}
    if (!each_piece) await judge([...alike.values()].map(pieces => pieces[0]))
    const unsure = ([its]) => each_piece || !known.has(its) && !its.includes('gradient')
    await judge([...alike].filter(unsure).flatMap(([, pieces]) => pieces))
    return [wrong, wrong.length ? judged : [...known]]
}}"""


class Barriers:
    """What stands in the way on page after page of one visitor."""

    def __init__(self, page: Page) -> None:
        self._page = page
        self._judged: list[str] = []

    def here(self) -> list[str]:
        """What stands in the way on the page as it is."""
        self._page.evaluate(AXE_SCRIPT)
        found: list[str] = self._page.evaluate(BUT_CONTRAST)
        found += self._contrast()
        self._page.emulate_media(color_scheme="dark")
        found += self._contrast()
        self._page.emulate_media(color_scheme="light")
        return found

    def _contrast(self) -> list[str]:
        wrong: list[str]
        wrong, self._judged = self._page.evaluate(CONTRAST, [self._judged, NIGHT])
        return wrong
